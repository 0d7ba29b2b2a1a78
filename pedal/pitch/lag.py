"""Likeness at every lag -> which peak is the period."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

SHY = 0.08
"""The first peak this near to the best one is the period: the others are its multiples."""


def peak_near(likeness: NDArray[np.float32], lag: float, reach: int) -> tuple[float, float]:
    """(lag, height) of the highest point within `reach` of `lag`, by a parabola through three; (0, 0) if at the rim."""
    low = max(1, int(lag) - reach)
    high = min(len(likeness) - 2, int(lag) + reach + 1)
    if high <= low:
        return 0.0, 0.0
    at = low + int(likeness[low : high + 1].argmax())
    return parabola(likeness, at)


def parabola(likeness: NDArray[np.float32], at: int) -> tuple[float, float]:
    """(lag, height) of the parabola through the points at - 1, at, at + 1."""
    left, middle, right = likeness[at - 1 : at + 2].tolist()
    bend = left - 2 * middle + right
    if bend >= 0:
        return 0.0, 0.0
    shift = 0.5 * (left - right) / bend
    if abs(shift) > 1:
        return 0.0, 0.0
    return at + shift, min(1.0, middle - 0.25 * (left - right) * shift)


def find_period(likeness: NDArray[np.float32], shortest: int) -> tuple[float, float]:
    """(period in samples, clarity 0..1) of likeness at lags from `shortest` on; (0, 0) if nothing repeats."""
    if len(likeness) < 3:
        return 0.0, 0.0
    inner = likeness[1:-1]
    peaks = np.flatnonzero((inner >= likeness[:-2]) & (inner > likeness[2:])) + 1
    if not len(peaks):
        return 0.0, 0.0
    heights = likeness[peaks]
    best = float(heights.max())
    if best <= 0:
        return 0.0, 0.0
    first = int(peaks[int((heights > best - SHY).argmax())])
    lag, clarity = parabola(likeness, first)
    if lag == 0.0:
        return 0.0, 0.0
    lag += shortest
    for times in range(2, 1 + int((len(likeness) - 3 + shortest) / lag)):
        finer, height = peak_near(likeness, lag * times - shortest, 2)
        if height < 0.9 * best:
            break
        lag = (finer + shortest) / times
    return lag, clarity



def alike(history: NDArray[np.float32], lag: float, window: int) -> float:
    """Likeness of the newest `window` samples to those `lag` before, read between the samples."""
    whole = int(lag)
    reader = READERS[int((lag - whole) * len(READERS))]
    end = len(history) - whole + READER_TAPS // 2 - 1
    newest = history[len(history) - window :]
    past = np.correlate(history[end - window - READER_TAPS + 1 : end], reader, "valid")
    each = float(newest.dot(newest)) + float(past.dot(past))
    return 2.0 * float(newest.dot(past)) / (each + 1e-12)


def _reader(part: float) -> NDArray[np.float32]:
    at = np.arange(READER_TAPS) - READER_TAPS // 2 + part
    kernel = np.sinc(at) * np.kaiser(READER_TAPS, 5.0)
    return (kernel / kernel.sum()).astype(np.float32)


READER_TAPS = 12
READERS = tuple(_reader((i + 0.5) / 16) for i in range(16))
