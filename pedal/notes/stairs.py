"""Contour -> was it a bend at all, or a slide's stairs, a hammer-on's jump up, a pull-off's jump down."""

from __future__ import annotations

import numpy as np

from pedal.notes.contour import Contour, Floats
from pedal.notes.note import Refusal

LEAST_JUMP_CENTS = 70.0
JUMP_S = 0.022
"""No finger pushes a string over a semitone faster; the tracker's own window is added where it is longer."""
DWELL_RATIO = 2.0
"""On stairs the pitch dwells at least so much longer on the frets than between them; a glide passes all heights alike."""


def find_jump(contour: Contour, low: float, high: float, *, falling: bool = False) -> Refusal | None:
    """What the way from one height to another was, if it was no bend; None if it was one."""
    height = high - low
    if height < LEAST_JUMP_CENTS:
        return None
    time_s, cents = contour.time_s, contour.cents
    if falling:
        time_s, cents = -time_s[::-1], cents[::-1]
    window_s = 2.0 * float(np.median(contour.heard_s - contour.time_s))
    if _passage_s(time_s, cents, low + 0.1 * height, low + 0.9 * height) <= max(JUMP_S, 0.95 * window_s):
        return "pull_off" if falling else "hammer_on"
    steps = round(height / 100.0)
    if steps < 2 or abs(height - 100.0 * steps) > 25.0:
        return None
    step = height / steps
    treads = [_passage_s(time_s, cents, low + (k - 0.25) * step, low + (k + 0.25) * step) for k in range(1, steps)]
    risers = [_passage_s(time_s, cents, low + (k + 0.25) * step, low + (k + 0.75) * step) for k in range(steps)]
    return "slide" if np.mean(treads) > DWELL_RATIO * np.mean(risers) else None


def _passage_s(time_s: Floats, cents: Floats, low: float, high: float) -> float:
    """Seconds from the last moment below `low` before the first moment above `high`."""
    above = np.flatnonzero(cents >= high)
    if not len(above):
        return float("inf")
    end = int(above[0])
    below = np.flatnonzero(cents[:end] < low)
    if not len(below):
        return float("inf")
    start = int(below[-1])
    return _crossing(time_s, cents, end, high) - _crossing(time_s, cents, start + 1, low)


def _crossing(time_s: Floats, cents: Floats, at: int, height: float) -> float:
    before, after = cents[at - 1], cents[at]
    share = (height - before) / (after - before) if after != before else 1.0
    return float(time_s[at - 1] + share * (time_s[at] - time_s[at - 1]))
