"""The short words of the screens: signed figures, a bend's two notes, a key cut to fit, what is wrong."""

from __future__ import annotations

from collections.abc import Iterator

from pedal.modes.screen_model import Status, TuneScreen, VerdictCard
from pedal.screen.canvas import Lettering
from pedal.theory.spelling import for_eyes

TENTHS_BELOW_CENTS = 9.95
"""Tenths of more than this neither help the hand nor fit the line."""
SHORT_SCALES = {"minor pentatonic": "min pent", "major pentatonic": "maj pent", "mixolydian": "mixolyd"}


def signed(figure: float, decimals: int = 0) -> str:
    """A figure with its sign drawn: "+12", "−3.2", "0".

    >>> signed(-3.24, 1), signed(12.0), signed(-0.2)
    ('−3.2', '+12', '0')
    """
    rounded = round(figure, decimals)
    digits = f"{abs(rounded):.{decimals}f}"
    if rounded == 0:
        return digits
    return ("+" if rounded > 0 else "−") + digits


def signed_or_dash(figure: float | None) -> str:
    """The figure with its sign, a dash where nothing was measured."""
    return "–" if figure is None else signed(figure)


def tuning_figure(model: TuneScreen) -> str:
    """The error of a string: to a tenth of a cent once the average may be read so, "" before the pluck has settled."""
    if model.cents is None:
        return ""
    return signed(model.cents, 1 if model.settled and abs(model.cents) < TENTHS_BELOW_CENTS else 0)


def ringed(string: int) -> str:
    """The number of a string in the ring that guitar notation draws around it."""
    return f"({string})"


def bend_words(note: str | None, target: str | None, key: str) -> str:
    """From where to where, "B♭3▸C4"; the tonic of the key while nothing was heard."""
    if note is None:
        return tonic_of(key) or "PLAY"
    return for_eyes(note) + (f"▸{for_eyes(target)}" if target else "")


def tonic_of(key: str) -> str:
    """The tonic of a key's words, for eyes."""
    return for_eyes(key.partition(" ")[0])


def scale_of(key: str) -> str:
    """The scale of a key's words."""
    return key.partition(" ")[2]


def key_within(key: str, columns: int, lettering: Lettering) -> str:
    """The key in full, with its scale shortened, or as its tonic alone: the first that fits."""
    tonic, scale = tonic_of(key), scale_of(key)
    for words in (f"{tonic} {scale}", f"{tonic} {SHORT_SCALES.get(scale, scale)}", tonic):
        if lettering.width(words) <= columns:
            return words
    return ""


def verdict_words(card: VerdictCard) -> str:
    """Word and figure in one breath: "FLAT −34"."""
    return card.word if card.figure is None else f"{card.word} {signed(card.figure)}"


def troubles(status: Status) -> Iterator[str]:
    """What the player should know of, most urgent first, a word or two each."""
    if status.clipped:
        yield "CLIP"
    if status.silent_input:
        yield "SILENT"
    if status.lost_blocks:
        yield f"LOST {min(status.lost_blocks, 99)}"
    if status.fault:
        yield "FAULT"
    if status.log_paused:
        yield "NO LOG"
    if status.bad_switch is not None:
        yield f"FOOT {status.bad_switch}"


def due_within(words: str, columns: int, lettering: Lettering) -> str:
    """When homework is due: "by 2026-12-04", without its year where there is no room, or nothing.

    >>> from pedal.screen.canvas import SMALL
    >>> due_within("by 2026-12-04", 40, SMALL)
    'by 12-04'
    """
    short = words.replace(words[3:8], "") if len(words) > 8 else words
    return next((said for said in (words, short) if lettering.width(said) <= columns), "")
