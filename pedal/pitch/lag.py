"""Likeness at every lag -> which peak is the period."""

from __future__ import annotations

from pedal.pitch.intake import Samples

SHY = 0.08
"""The first peak at most this much less alike than the best one is the period: the others are its multiples."""
STILL_GOOD = 0.9
"""A multiple of the period refines it while its peak keeps this share of the best one."""


def find_period(nsdf: Samples, shortest: int) -> tuple[float, float]:
    """(period in samples, clarity) of likeness at lags from `shortest` on; (0, 0) if nothing repeats."""
    if len(nsdf) < 3:
        return 0.0, 0.0
    inner = nsdf[1:-1]
    peaks = ((inner >= nsdf[:-2]) & (inner > nsdf[2:])).nonzero()[0]
    if not len(peaks):
        return 0.0, 0.0
    heights = inner[peaks]
    best = float(heights[heights.argmax()])
    if best <= SHY:
        return 0.0, 0.0
    lag, clarity = parabola(nsdf, 1 + int(peaks[(heights > best - SHY).argmax()]))
    lag += shortest
    for times in range(2, 1 + int((len(nsdf) - 3 + shortest) / lag)):
        finer, height = peak_near(nsdf, lag * times - shortest)
        if height < STILL_GOOD * best:
            break
        lag = (finer + shortest) / times
    return lag, clarity


def peak_near(nsdf: Samples, lag: float) -> tuple[float, float]:
    """(lag, height) of the highest point within two samples of `lag`; height 0 where it lies at the rim."""
    low = max(1, int(lag) - 2)
    high = min(len(nsdf) - 2, int(lag) + 3)
    if high <= low:
        return lag, 0.0
    near = nsdf[low - 1 : high + 2].tolist()
    height = max(near[1:-1])
    at = near.index(height, 1)
    if not near[at - 1] <= height >= near[at + 1]:
        return lag, 0.0
    top, height = _parabola(near[at - 1], height, near[at + 1])
    return low - 1 + at + top, height


def parabola(nsdf: Samples, at: int) -> tuple[float, float]:
    """(lag, height, at most 1) of the parabola through a peak at `at` and its two neighbours."""
    top, height = _parabola(*nsdf[at - 1 : at + 2].tolist())
    return at + top, height


def _parabola(left: float, middle: float, right: float) -> tuple[float, float]:
    bend = left - 2 * middle + right
    if bend >= 0:
        return 0.0, min(1.0, middle)
    shift = 0.5 * (left - right) / bend
    return shift, min(1.0, middle - 0.25 * (left - right) * shift)
