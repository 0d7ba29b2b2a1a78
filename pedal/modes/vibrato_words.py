"""The vibrato of a verdict in words: rate, width, side, and whether it was even."""

from __future__ import annotations

from pedal.progress.time_and_vibrato import evenness_word
from pedal.verdicts.verdict import Verdict

_SIDES = {"both": "both sides", "above": "above", "below": "below"}


def vibrato_words(verdict: Verdict) -> str:
    """Such as "vib 5.4 Hz ±21 above, even"; "" without vibrato. Neither even nor uneven where the figures leave it."""
    if not verdict.vibrato_hz or not verdict.vibrato_cents:
        return ""
    side = f" {_SIDES[verdict.vibrato_side]}" if verdict.vibrato_side else ""
    even = evenness_word(verdict.vibrato_evenness, verdict.vibrato_hz, verdict.hold_s)
    return f"vib {verdict.vibrato_hz:.1f} Hz ±{verdict.vibrato_cents:.0f}{side}{', ' + even if even else ''}"
