"""What a rule finds about a note, before it is written out as a verdict; and the sentences for it, read at a glance."""

from __future__ import annotations

from pedal.notes.note import Ending, Refusal
from pedal.values import frozen
from pedal.verdicts.verdict import Kind, Word


def off(error_cents: float) -> str:
    """An error in words: 12 cents flat, 1 cent sharp, dead on."""
    whole = round(error_cents)
    if whole == 0:
        return "dead on"
    return f"{abs(whole)} cent{'s' if abs(whole) != 1 else ''} {'sharp' if whole > 0 else 'flat'}"


def above(cents: float) -> str:
    """A height in words: 34 cents, 1 cent."""
    whole = round(cents)
    return f"{whole} cent{'s' if abs(whole) != 1 else ''}"


REFUSALS: dict[Refusal, str] = {
    "slide": "A slide: the pitch moved fret by fret, so there is no bend to judge.",
    "hammer_on": "A trill: the pitch jumped to and fro, so there is no bend to judge.",
    "two_strings": "Two strings sounded at once: mute the others and play one.",
    "too_short": "Too short to judge: let the note sound a little longer.",
    "no_pitch": "No steady pitch was heard: the string was dead, muted or disturbed.",
}

TOO_LOW = "No pitch was heard: a note below Bb1, two strings at once, or a dead string."
"""Of a neck that goes so low, where it cannot be told which of them it was."""

ENDINGS: dict[Ending, str] = {
    "cut_sharp": "cut off sharp",
    "released": "released",
    "rang_out": "left to ring",
    "cut": "cut off",
}


@frozen
class Judgement:
    """Cents are None where there is nothing to judge, `target_midi` where nothing was aimed at."""

    kind: Kind
    word: Word
    reason: str
    target_midi: int | None = None
    error_cents: float | None = None
    absolute_cents: float | None = None


def word_for(error_cents: float, *, true_cents: float, near_cents: float) -> Word:
    """The word for a signed error: both bounds, to a hundredth of a cent, still belong to the better word."""
    if round(abs(error_cents), 2) <= true_cents:
        return "true"
    if round(abs(error_cents), 2) <= near_cents:
        return "near"
    return "sharp" if error_cents > 0 else "flat"


KINDS: dict[Refusal, Kind] = {"slide": "slide", "hammer_on": "hammer_on"}


def refuse(refusal: Refusal) -> Judgement:
    """The judgement of a refused note: kind "slide", "hammer_on" or "unclear", and why."""
    return Judgement(KINDS.get(refusal, "unclear"), "unclear", REFUSALS[refusal])


def unclear(reason: str) -> Judgement:
    """A judgement without a number, for any other reason."""
    return Judgement("unclear", "unclear", reason)
