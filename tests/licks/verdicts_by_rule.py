"""Verdicts with defaults for all that a test is not about."""

from __future__ import annotations

from typing import Any

from pedal.verdicts.verdict import Verdict


def verdict(*, at_s: float = 0.0, seconds: float = 0.3, **changed: Any) -> Verdict:
    """A steady note, or what is given."""
    plain: dict[str, Any] = {
        "onset_s": at_s, "end_s": at_s + seconds, "rest_note": "G3", "rest_cents": 0.0, "degree": "1", "shape": "level",
        "kind": "steady", "target_note": None, "target_degree": None, "bend_cents": None, "error_cents": None,
        "absolute_cents": None, "peak_cents": None, "overshoot_cents": None, "rise_s": None, "hold_s": seconds,
        "final_cents": 0.0, "ending": "cut", "vibrato_hz": 0.0, "vibrato_cents": 0.0, "verdict": "unclear",
        "reason": "",
    }  # fmt: skip
    return Verdict(**(plain | changed))
