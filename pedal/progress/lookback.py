"""Tries of a session or a month -> what a glance can take in of them, and the same as text for a phone."""

from __future__ import annotations

from collections.abc import Sequence

from pedal.progress.advice import Advice, advise
from pedal.progress.figures import figures_of, target_table
from pedal.progress.tries import Tries
from pedal.values import frozen
from pedal.verdicts.aim import Bands


@frozen
class Lookback:
    """What a stretch of practice says.

    title : "last session", "last month", "today".
    tries, sessions : how much there was.
    true_percent : share called true, None without a try.
    word : the weightiest fault in two words and a figure ("b7→1 −22"), "" where nothing stands out from chance.
    sentence : the same as the review says it.
    """

    title: str
    sessions: int
    tries: int
    true_percent: int | None
    word: str = ""
    sentence: str = ""


def look_back(title: str, tries: Tries, *, sessions: int, bands: Bands | None) -> Lookback:
    """What these tries say; nothing that the review would not.

    title, sessions : what the tries are of, and of how many sessions.
    bands : the player's own; the pedal's first ones if None.
    """
    hits = figures_of("all", tries).hits
    first: Sequence[Advice] = advise(tries, rows=target_table(tries), bands=bands, most=1)
    return Lookback(
        title,
        sessions,
        len(tries),
        None if hits is None else round(100 * hits.value),
        _word(first[0]) if first else "",
        first[0].sentence if first else "",
    )


def _word(advice: Advice) -> str:
    """The target, and its fault, as short as they go."""
    return f"{advice.target.replace('pre-bend to ', 'pre ').removesuffix(' curl')} {advice.fault}"


LETTERS = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
"""The alphanumeric mode of QR codes (ISO/IEC 18004, table 5; from memory): 5.5 bits a letter in place of 8."""
_PLAIN = {"→": "-", "−": "-", "±": "+-", "♭": "B", "♯": " SHARP ", "#": " SHARP ", ",": " ", "(": " ", ")": " "}


def code_text(parts: Sequence[Lookback]) -> str:
    """All of it as one text in the letters that a code holds most of.

    >>> code_text([Lookback("last session", 1, 34, 62, "b7→1 −22")])
    'UNDERTOE. LAST SESSION: 34 BENDS 62% TRUE B7-1 -22.'
    """
    words = ["UNDERTOE."]
    for part in parts:
        said = [f"{part.title}: {part.tries} bends"]
        said += [f"{part.true_percent}% true"] if part.true_percent is not None else []
        words.append(" ".join([*said, part.word]).strip() + ".")
    text = " ".join(words).upper()
    for sign, plain in _PLAIN.items():
        text = text.replace(sign, plain)
    return " ".join("".join(letter if letter in LETTERS else " " for letter in text).split())


def short_text(part: Lookback) -> str:
    """The least that can be said, for a panel that holds 25 letters.

    >>> short_text(Lookback("today", 1, 34, 62))
    '34 BENDS 62% TRUE'
    """
    share = "" if part.true_percent is None else f" {part.true_percent}% TRUE"
    return f"{part.tries} BENDS{share}"
