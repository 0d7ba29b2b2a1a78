"""How a note ended: when its level collapsed, and whether a hand stopped it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pedal.notes.contour import Floats, running_median

LOUDEST_S = 0.014
"""A low string is loud once a period: its envelope is the loudest of this long."""
BODY_BEFORE_S = 0.120
"""So long before the sound ends, a string that a hand then stops still has its own level."""
FLOOR_MARGIN_DB = 6.0
CUT_FROM_DB, CUT_TO_DB = 4.0, 16.0
CUT_S = 0.045
"""A damped string falls through these 12 dB in under 45 ms; one that rings out or is faded takes longer."""
OWN_DB = 3.0
"""Until it has fallen by so much, what is heard is the string's own pitch."""


@dataclass(frozen=True, slots=True)
class Collapse:
    """`begin_s`: until then the level was the string's own. `by_hand`: it fell faster than a string rings out."""

    begin_s: float
    by_hand: bool


def find_collapse(heard_s: Floats, level_db: Floats) -> Collapse | None:
    """The collapse that ends a note, or None if the level never collapsed.

    Parameters
    ----------
    heard_s : float64 array
        Times of a note's readings, from its onset to well into the silence if there is one.
    level_db : float64 array of the same length
        Their levels, dBFS.
    """
    if len(heard_s) < 8:
        return None
    step = float(np.median(np.diff(heard_s)))
    envelope = _envelope(level_db, max(1, round(LOUDEST_S / step)))
    floor = float(envelope[-max(1, round(0.060 / step)) :].min())
    sounding = np.flatnonzero(envelope > floor + FLOOR_MARGIN_DB)
    if not len(sounding):
        return None
    body = float(envelope[max(0, int(sounding[-1]) - round(BODY_BEFORE_S / step)) : int(sounding[-1]) + 1].max())
    if body - floor < CUT_TO_DB:
        return None
    left, gone = (int(np.flatnonzero(envelope > body - fall)[-1]) for fall in (CUT_FROM_DB, CUT_TO_DB))
    if (gone - left) * step <= CUT_S:
        own = int(np.flatnonzero(envelope > body - OWN_DB)[-1])
        return Collapse(float(heard_s[own]), by_hand=True)
    return Collapse(float(heard_s[sounding[-1]]), by_hand=False)


def _envelope(level_db: Floats, width: int) -> Floats:
    """The loudest of the last `width` readings, single clicks ignored."""
    smooth = running_median(level_db, 3)
    padded = np.concatenate([np.full(width - 1, smooth[0]), smooth])
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, width).max(axis=1))
