"""The vibrato of a verdict in words: rate, width, side, and whether it was even."""

from __future__ import annotations

from pedal.verdicts.verdict import Verdict

LEAST_CYCLES = 4
"""Fewer waves say nothing of how even they are."""
UNEVEN = 0.7
"""Below this evenness vibrato is called uneven: see docs/sources.md for what an even one measures at worst."""
EVEN = 0.85
_SIDES = {"both": "both sides", "above": "above", "below": "below"}


def vibrato_words(verdict: Verdict) -> str:
    """Such as "vib 5.4 Hz ±21 above, even"; "" without vibrato. Neither even nor uneven where the figures leave it."""
    if not verdict.vibrato_hz or not verdict.vibrato_cents:
        return ""
    side = f" {_SIDES[verdict.vibrato_side]}" if verdict.vibrato_side else ""
    even = evenness_word(verdict.vibrato_evenness, verdict.vibrato_hz, verdict.hold_s)
    return f"vib {verdict.vibrato_hz:.1f} Hz ±{verdict.vibrato_cents:.0f}{side}{', ' + even if even else ''}"


def evenness_word(evenness: float | None, rate_hz: float, hold_s: float | None) -> str:
    """Even, uneven, or nothing where there were too few waves, or it lies between."""
    if evenness is None or hold_s is None or hold_s * rate_hz < LEAST_CYCLES:
        return ""
    return "uneven" if evenness < UNEVEN else "even" if evenness >= EVEN else ""
