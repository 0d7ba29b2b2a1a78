"""How a note ended: until when its level was its own, and whether a hand stopped it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pedal.notes.contour import Floats, running_median

LOUDEST_S = 0.014
"""A low string is loud once a period: its envelope is the loudest of this long."""
SILENCE_S = 0.060
BODY_BEFORE_S = 0.120
"""So long before the sound ends, a string that a hand then stops still has its own level."""
FLOOR_MARGIN_DB, CLEAR_DB = 6.0, 12.0
"""Above the floor by the first it sounds, by the second its pitch can be trusted."""
CUT_FROM_DB, CUT_TO_DB = 4.0, 16.0
CUT_S = 0.045
"""A damped string falls through these 12 dB in under 45 ms; one that rings out or is faded takes longer."""
OWN_DB = 3.0
"""Until it has fallen by so much, what is heard is the pitch of a string that is then stopped."""


@dataclass(frozen=True, slots=True)
class Collapse:
    """`begin_s`: until then the level was the string's own. `by_hand`: it fell faster than a string rings out."""

    begin_s: float
    by_hand: bool


def find_collapse(heard_s: Floats, level_db: Floats) -> Collapse | None:
    """The collapse of a note into silence, or None if the level never came down.

    Parameters
    ----------
    heard_s : float64 array
        Times of a note's readings, from its onset to well into the silence.
    level_db : float64 array of the same length
        Their levels, dBFS.
    """
    if len(heard_s) < 8:
        return None
    step = float(np.median(np.diff(heard_s)))
    width = max(1, round(LOUDEST_S / step))
    envelope = _envelope(level_db, width)
    floor = float(envelope[-max(1, round(SILENCE_S / step)) :].min())
    if envelope.max() - floor < CUT_TO_DB:
        return None
    sounding = int(np.flatnonzero(envelope > floor + FLOOR_MARGIN_DB)[-1])
    body = float(envelope[max(0, sounding - round(BODY_BEFORE_S / step)) : sounding + 1].max())
    if body - floor >= CUT_TO_DB:
        left, gone, own = (_last_above(envelope, body - fall) for fall in (CUT_FROM_DB, CUT_TO_DB, OWN_DB))
        if (gone - left) * step <= CUT_S:
            return Collapse(float(heard_s[max(0, own - width + 1)]), by_hand=True)
    return Collapse(float(heard_s[_last_above(envelope, floor + CLEAR_DB)]), by_hand=False)


def _last_above(envelope: Floats, level: float) -> int:
    return int(np.flatnonzero(envelope > level)[-1])


def _envelope(level_db: Floats, width: int) -> Floats:
    """The loudest of the last `width` readings, single clicks ignored."""
    smooth = running_median(level_db, 3)
    padded = np.concatenate([np.full(width - 1, smooth[0]), smooth])
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, width).max(axis=1))
