"""Notes that are no bend, or too little to judge: a sentence, never a number."""

from __future__ import annotations

from pedal.notes.note import Refusal
from pedal.verdicts.judgement import Judgement
from pedal.verdicts.verdict import Kind
from pedal.verdicts.wording import REFUSALS

KINDS: dict[Refusal, Kind] = {"slide": "slide", "hammer_on": "hammer_on"}


def refuse(refusal: Refusal) -> Judgement:
    """The judgement of a refused note: kind "slide", "hammer_on" or "unclear", and why."""
    return Judgement(KINDS.get(refusal, "unclear"), "unclear", REFUSALS[refusal])


def unclear(reason: str) -> Judgement:
    """A judgement without a number, for any other reason."""
    return Judgement("unclear", "unclear", reason)
