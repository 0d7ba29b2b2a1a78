"""How a note ended: when its level collapsed, and whether a hand stopped it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pedal.notes.contour import Floats, running_median

LOUDEST_S = 0.014
"""A low string is loud once a period: its envelope is the loudest of this long."""
COLLAPSE_DB_PER_S = 60.0
"""A plucked string left alone decays slower, a damped one far faster."""
CUT_FALL_DB = 12.0
CUT_S = 0.070


@dataclass(frozen=True, slots=True)
class Collapse:
    """`begin_s`: the level was still the string's own. `by_hand`: it fell faster than a string rings out."""

    begin_s: float
    by_hand: bool


def find_collapse(heard_s: Floats, level_db: Floats) -> Collapse | None:
    """The collapse that ends a note, or None if the level never collapsed. Arrays of equal length, a row a reading."""
    if len(heard_s) < 8:
        return None
    step = float(np.median(np.diff(heard_s)))
    width = max(1, round(LOUDEST_S / step))
    smooth = running_median(level_db, 3)
    envelope = np.array([smooth[i : i + width].max() for i in range(len(smooth))])
    span = max(1, round(0.020 / step))
    rate = (envelope[span:] - envelope[:-span]) / (span * step)
    falling = rate < -COLLAPSE_DB_PER_S
    if not falling.any():
        return None
    last = int(np.flatnonzero(falling)[-1])
    quiet = np.flatnonzero(~falling[:last])
    gaps = [int(q) for q in quiet if not falling[max(0, q - span) : q].any()]
    begin = gaps[-1] + 1 if gaps else 0
    below = np.flatnonzero(envelope[begin:] < envelope[begin] - CUT_FALL_DB)
    if not len(below):
        return None
    return Collapse(float(heard_s[begin]), bool(below[0] * step <= CUT_S))
