"""Samples -> how much of the sound one string cannot explain: evidence that a second one sounds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LOWEST_HZ, HIGHEST_HZ, HIGHEST_PARTIAL_HZ = 58.0, 1500.0, 4000.0
PEAKS = 24
QUIET_DB = 40.0
"""Peaks so far below the strongest are noise, hum or a string that merely rings along."""
BRIGHTNESS = 1.5
"""Energies are weighed by this power of their frequency: a struck string is bright, one that is shaken along is dull."""
TOLERANCE = 0.012
"""A partial lies within 20 cents of its multiple, and `STIFF` more for each square of its number."""
STIFF = 0.0003
FUNDAMENTAL_DB = 34.0
"""A string's own fundamental is not weaker than this; a common subharmonic of two strings has none at all."""
LOBE_BINS = 2.0


def unexplained_share(samples: NDArray[np.float32], sample_rate: int) -> float:
    """Share of the energy (0 to 1) that lies outside the partials of whichever single string explains most.

    Parameters
    ----------
    samples : 0.15 s or more of a steady sound; a low string needs that long to be told from its neighbour.
    sample_rate : samples a second.

    Returns
    -------
    share : near 0 for one string, 0.1 to 0.5 for two struck together; 1.0 if nothing like a string is heard.
    """
    hz, energy = _peaks(samples, sample_rate)
    if not len(hz):
        return 1.0
    bright = energy * (hz / LOWEST_HZ) ** BRIGHTNESS
    spread = LOBE_BINS * sample_rate / len(samples)
    best = 0.0
    for root in hz[(hz < HIGHEST_HZ) & (energy > energy.max() * 10 ** (-FUNDAMENTAL_DB / 10))]:
        number = np.maximum(1.0, np.round(hz / root))
        reach = np.maximum(spread, number * root * (TOLERANCE + STIFF * number**2))
        own = np.abs(hz - number * root) <= np.minimum(reach, 0.4 * root)
        best = max(best, float(bright[own].sum()))
    return 1.0 - best / float(bright.sum())


def _peaks(samples: NDArray[np.float32], sample_rate: int) -> tuple[Floats, Floats]:
    """Frequencies and energies of the strongest spectral peaks."""
    n = 1 << (2 * len(samples) - 1).bit_length()
    power = np.abs(np.fft.rfft(samples * np.blackman(len(samples)), n)) ** 2
    low, high = int(LOWEST_HZ * n / sample_rate), int(HIGHEST_PARTIAL_HZ * n / sample_rate)
    part = power[low:high]
    at = np.flatnonzero((part[1:-1] > part[:-2]) & (part[1:-1] >= part[2:])) + 1
    at = at[part[at] > part.max() * 10 ** (-QUIET_DB / 10)] if len(at) else at
    at = at[np.argsort(part[at])[::-1][:PEAKS]]
    return (at + low) * sample_rate / n, part[at].astype(np.float64)
