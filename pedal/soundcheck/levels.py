"""Levels in dBFS, where a sine that fills the converter has a peak of 0 and an RMS of -3; how loud a player plays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.values import frozen

LEAST = 1e-7
"""-140 dBFS, below what any converter gives: where digital silence ends."""
CLIPPED = 0.989
"""-0.1 dBFS: nothing that plays this loud is whole."""


def db_of(amplitude: float) -> float:
    """An amplitude or RMS, full scale 1, in dBFS.

    >>> db_of(0.5), db_of(0.0)
    (-6.020599913279624, -140.0)
    """
    return float(20 * np.log10(max(amplitude, LEAST)))


def rms(samples: NDArray[np.float32] | NDArray[np.float64]) -> float:
    """Root of the mean square about the mean: what a converter is off by at rest is no sound. 0 for no samples."""
    return float(np.std(samples.astype(np.float64))) if len(samples) else 0.0


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
