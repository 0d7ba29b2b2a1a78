"""The short words of the screens: signed figures, a bend's two notes, a key cut to fit, what is wrong."""

from __future__ import annotations

from collections.abc import Iterator

from pedal.modes.screen_model import LookbackScreen, RecallRow, Status, TuneScreen, VerdictCard
from pedal.screen.canvas import Lettering
from pedal.theory.pulse import BEATS_A_BAR
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


def place_words(string: int | None, fret: int | None) -> str:
    """A ringed string and a fret, as far as they are asked for.

    >>> place_words(3, 8), place_words(2, None), place_words(None, None)
    ('(3)8', '(2)', '')
    """
    return ("" if string is None else ringed(string)) + ("" if fret is None else str(fret))


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


def figure_words(card: VerdictCard) -> str:
    """The figure alone: an error has a sign ("+3", "±0"), the height of a curl has none ("35")."""
    if card.figure is None:
        return ""
    if card.is_height:
        return str(abs(card.figure)) if card.figure >= 0 else signed(card.figure)
    return signed(card.figure) if card.figure else "±0"


def figure_label(card: VerdictCard) -> str:
    """What the figure is of, for close eyes: the height of a curl, or an error."""
    return "" if card.figure is None else "curl" if card.is_height else "err"


def large_verdict_words(card: VerdictCard) -> str:
    """Word and figure in one breath: "FLAT −34", "TRUE 35"."""
    return f"{card.word} {figure_words(card)}".strip()


def verdict_words(card: VerdictCard, *, of_note: bool = False) -> str:
    """Word and figure with what it is of: "FLAT err −34", "TRUE curl 35"; after its note if asked for."""
    parts = (for_eyes(card.note) if of_note else "", card.word, figure_label(card), figure_words(card))
    return " ".join(part for part in parts if part)


def middle_words(row: RecallRow) -> str:
    """The middle of a row of Recall: the bias of bends with its sign, the height of curls without."""
    if row.bias_cents is None:
        return "–"
    return f"{row.bias_cents:.0f}" if row.is_height else signed(row.bias_cents) if round(row.bias_cents) else "±0"


def lookback_word(model: LookbackScreen) -> str:
    """What stands out, else how many bends there were."""
    return for_eyes(model.word.replace("→", "▸")) if model.word else f"{model.tries} BENDS"


def lookback_title(model: LookbackScreen) -> str:
    """Of which stretch, and how much there was."""
    if model.word:
        return f"{model.title}: {model.tries} bends"
    return model.title + (f", {model.sessions} sessions" if model.sessions > 1 else "")


def drone_words(status: Status) -> str:
    """That the pedal sounds, and what: "drone Gm"."""
    if status.beat:
        return f"{for_eyes(status.chord)} {'·' * (status.beat - 1)}{status.beat}{'·' * (BEATS_A_BAR - status.beat)}"
    return f"drone {for_eyes(status.chord)}".strip() if status.drone else for_eyes(status.chord)


def fingers_and_mark(support: str) -> tuple[str, str]:
    """The fingers of a bend, and how heavy it is if that must be said: ("ring +2", "heavy").

    >>> fingers_and_mark("ring +2, too heavy"), fingers_and_mark("index")
    (('ring +2', 'too heavy'), ('index', ''))
    """
    fingers, _, mark = support.partition(", ")
    return fingers, mark


SILENT = "SILENT"


def troubles(status: Status) -> Iterator[str]:
    """What the player should know of, most urgent first, a word or two each."""
    if status.clipped:
        yield "CLIP"
    if status.silent_input:
        yield SILENT
    if status.lost_blocks:
        yield f"LOST {min(status.lost_blocks, 99)}"
    if status.no_output:
        yield "NO OUT"
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
