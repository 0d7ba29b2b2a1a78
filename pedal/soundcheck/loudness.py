"""How loud a player plays: the loudest few milliseconds, and whether the converter overflowed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.soundcheck.decibels import CLIPPED, db_of
from pedal.values import frozen

FRAME_S = 0.0053
"""As long as two readings of the ear: the same measure that the pedal's own gain check takes."""


@frozen
class Loudness:
    """RMS of the loudest `FRAME_S`, and the peak, in dBFS; `clipped`: the peak touches full scale."""

    loudest_db: float
    peak_db: float
    clipped: bool


def loudness(samples: NDArray[np.float32], rate_hz: int) -> Loudness:
    """Loudness of mono samples in [-1, 1]; of none it is that of silence."""
    frame = max(1, round(FRAME_S * rate_hz))
    whole = samples[: len(samples) // frame * frame].astype(np.float64).reshape(-1, frame)
    loudest = float(np.sqrt(np.max(np.mean(whole**2, axis=1), initial=0.0)))
    peak = float(np.max(np.abs(samples), initial=0.0))
    return Loudness(db_of(loudest), db_of(peak), peak >= CLIPPED)
