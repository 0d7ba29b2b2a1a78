"""Contour -> was it a bend at all, or a slide's stairs, a hammer-on's jump up, a pull-off's jump down."""

from __future__ import annotations

import numpy as np

from pedal.notes.contour import Contour, Floats
from pedal.notes.note import Refusal

LEAST_JUMP_CENTS = 70.0
JUMP_S = 0.020
"""From a tenth to nine tenths of the way: a jump reads as 6 to 12 ms, a whole bend of 70 ms as 24 to 37."""
DWELL_RATIO = 1.5
"""On stairs the pitch dwells so much longer on the frets than between them; a glide passes all heights alike."""
RISER_S = 0.015
"""From a quarter to three quarters of a fret in a slide; a bend made in stages pushes slower."""
NEAR_FRETS_CENTS = 25.0


def find_stairs(way: Contour, low: float, high: float) -> Refusal | None:
    """What the way from one stand to another (up or down) was, if it was no bend; None if it was one.

    Parameters
    ----------
    way : Contour
        The readings from the end of the first stand to the beginning of the second.
    low : float
        Height of the lower stand in cents.
    high : float
        Height of the upper stand in cents, above `low`.
    """
    height = high - low
    if height < LEAST_JUMP_CENTS or len(way) < 2:
        return None
    falling = way.cents[0] > way.cents[-1]
    # The times of hearing: those of measuring bunch up where a tracker starts its window afresh at a jump.
    time_s, cents = (-way.heard_s[::-1], way.cents[::-1]) if falling else (way.heard_s, way.cents)
    window_s = 2.0 * float(np.median(way.heard_s - way.time_s))
    if _passage_s(time_s, cents, low + 0.1 * height, low + 0.9 * height) <= JUMP_S:
        return "pull_off" if falling else "hammer_on"
    steps = round(height / 100.0)
    if steps < 2 or abs(height - 100.0 * steps) > NEAR_FRETS_CENTS:
        return None
    step = height / steps
    treads = [_passage_s(time_s, cents, low + (k - 0.25) * step, low + (k + 0.25) * step) for k in range(1, steps)]
    risers = [_passage_s(time_s, cents, low + (k + 0.25) * step, low + (k + 0.75) * step) for k in range(steps)]
    riser_s = float(np.mean(risers))
    stepped = np.mean(treads) > DWELL_RATIO * riser_s and riser_s <= max(RISER_S, 0.5 * window_s)
    return "slide" if stepped else None


def _passage_s(time_s: Floats, cents: Floats, low: float, high: float) -> float:
    """Seconds from the last moment below `low` to the first moment above `high`."""
    above = np.flatnonzero(cents >= high)
    end = int(above[0]) if len(above) else len(cents) - 1
    below = np.flatnonzero(cents[:end] < low)
    start = int(below[-1]) if len(below) else 0
    return max(0.0, _crossing(time_s, cents, end, high) - _crossing(time_s, cents, start + 1, low))


def _crossing(time_s: Floats, cents: Floats, at: int, height: float) -> float:
    if at < 1:
        return float(time_s[0])
    before, after = cents[at - 1], cents[at]
    share = min(1.0, max(0.0, (height - before) / (after - before))) if after != before else 1.0
    return float(time_s[at - 1] + share * (time_s[at] - time_s[at - 1]))
