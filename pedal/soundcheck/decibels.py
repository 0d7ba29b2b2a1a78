"""Levels in dBFS: a sine that fills the converter has a peak of 0 and an RMS of -3."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

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
