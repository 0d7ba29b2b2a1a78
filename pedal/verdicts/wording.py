"""Sentences that a guitarist reads at a glance."""

from __future__ import annotations

from pedal.notes.note import Ending, Refusal


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

ENDINGS: dict[Ending, str] = {
    "cut_sharp": "cut off sharp",
    "released": "released",
    "rang_out": "left to ring",
    "cut": "cut off",
}
