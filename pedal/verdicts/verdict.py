"""A verdict: how true one note was. Field for field what `undertoe read --json` prints."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from pedal.notes.note import BegunBy, Ending, Shape, Side, Trace
from pedal.values import frozen

Kind = Literal["steady", "curl", "bend", "bend_release", "prebend", "prebend_release", "slide", "hammer_on", "unclear"]
Word = Literal["true", "near", "flat", "sharp", "released", "unclear"]


@frozen
class Verdict:
    """One judged note. Cents are signed; None where there is nothing to judge or to name.

    rest_note, target_note : scientific pitch ("Bb3"); rest_note None if the note never rested.
    rest_cents : the rest note's own error against equal temperament.
    bend_cents : height at the hold above the rest note as it was heard.
    error_cents : bend_cents less the interval to the target; for a note whose rest was never heard, absolute_cents.
    absolute_cents : arrival against the equal-tempered target.
    final_cents : last pitch heard above the rest note.
    rest_heard : False where the fretted pitch was known by the grid and the guitar's offset, not heard.
    vibrato_evenness : 1 for cycles of one length and size; None without vibrato, as `vibrato_side` is.
    """

    onset_s: float
    end_s: float
    rest_note: str | None
    rest_cents: float | None
    degree: str | None
    shape: Shape
    kind: Kind
    target_note: str | None
    target_degree: str | None
    bend_cents: float | None
    error_cents: float | None
    absolute_cents: float | None
    peak_cents: float | None
    overshoot_cents: float | None
    rise_s: float | None
    hold_s: float | None
    final_cents: float | None
    ending: Ending
    vibrato_hz: float
    vibrato_cents: float
    verdict: Word
    reason: str
    rest_heard: bool = True
    begun_by: BegunBy = "pluck"
    vibrato_side: Side | None = None
    vibrato_evenness: float | None = None
    trace: Trace | None = field(default=None, compare=False, repr=False)
