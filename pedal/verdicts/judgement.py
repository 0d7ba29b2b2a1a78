"""What a rule finds about a note, before it is written out as a verdict."""

from __future__ import annotations

from pedal.values import frozen
from pedal.verdicts.verdict import Kind, Word


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
