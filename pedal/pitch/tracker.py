"""Block of samples -> readings, by normalised autocorrelation (a first, plain version)."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.reading import Reading

LOWEST_HZ, HIGHEST_HZ = 58.0, 1500.0
GATE_DB = -66.0


class Tracker:
    """Streaming pitch tracker; see `make_tracker`."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._rate, self._hop = sample_rate, hop
        self._memory = np.zeros(int(0.05 * sample_rate), np.float32)
        self._samples = 0
        self._levels = [-120.0] * 8
        self._period = 0.0
        self._log_hz, self._slope = 0.0, 0.0
        self.now_hz = 0.0

    def push(self, block: NDArray[np.float32], *, lost_samples: int = 0) -> list[Reading]:
        """Readings from one block of exactly `hop` samples; `lost_samples` were lost just before it."""
        if lost_samples:
            self._samples += lost_samples
            self._memory[:] = 0
            self._period = 0.0
        hop, rate = self._hop, self._rate
        self._memory[:-hop] = self._memory[hop:]
        self._memory[-hop:] = block
        self._samples += hop
        heard_s = self._samples / rate
        level = 10 * math.log10(float(np.dot(block, block)) / hop + 1e-12)
        attack = level - min(self._levels)
        self._levels = [*self._levels[1:], level]
        if max(self._levels) < GATE_DB:
            self._period = self.now_hz = 0.0
            return [Reading(heard_s, 0.0, 0.0, level, heard_s, 0.0)]
        window = int(3.2 * self._period) if self._period else int(0.04 * rate)
        window = min(max(window, int(0.008 * rate)), len(self._memory))
        period, clarity = self._find(self._memory[-window:])
        if clarity < 0.85:
            self._period = self.now_hz = 0.0
            return [Reading(heard_s - window / rate / 2, 0.0, max(0.0, clarity), level, heard_s, max(0.0, attack))]
        fresh = self._period == 0.0
        self._period = period
        hz = rate / period
        log_hz = math.log2(hz)
        dt = hop / rate
        if fresh or abs(log_hz - self._log_hz) > 0.1:
            self._log_hz, self._slope = log_hz, 0.0
        else:
            predicted = self._log_hz + self._slope * dt
            self._log_hz = predicted + 0.35 * (log_hz - predicted)
            self._slope += 0.05 * (log_hz - predicted) / dt
        self.now_hz = 2 ** (self._log_hz + self._slope * window / rate / 2)
        return [Reading(heard_s - window / rate / 2, hz, clarity, level, heard_s, max(0.0, attack))]

    def _find(self, x: NDArray[np.float32]) -> tuple[float, float]:
        x = x - x.mean()
        n = len(x)
        size = 1 << (2 * n - 1).bit_length()
        spectrum = np.fft.rfft(x, size)
        r = np.fft.irfft(spectrum * spectrum.conj(), size)[: n // 2 + 2]
        energy = np.concatenate([[0.0], np.cumsum(x.astype(np.float64) ** 2)])
        lags = np.arange(len(r))
        m = energy[n - lags] + energy[n] - energy[lags]
        clarity = 2 * r / np.maximum(m, 1e-9)
        low, high = int(self._rate / HIGHEST_HZ), min(int(self._rate / LOWEST_HZ), len(r) - 2)
        below = np.flatnonzero(clarity[:high] < 0)
        start = max(low, int(below[0]) if len(below) else low)
        part = clarity[start : high + 1]
        if len(part) < 3:
            return 0.0, 0.0
        peaks = np.flatnonzero((part[1:-1] >= part[:-2]) & (part[1:-1] > part[2:])) + 1
        if not len(peaks) or part[peaks].max() <= 0:
            return 0.0, 0.0
        best = float(part[peaks].max())
        lag = start + int(peaks[np.flatnonzero(part[peaks] > 0.93 * best)[0]])
        a, b, c = clarity[lag - 1 : lag + 2]
        return lag + 0.5 * (a - c) / (a - 2 * b + c), float(b)


def make_tracker(sample_rate: int, hop: int) -> Tracker:
    """A streaming pitch tracker for one guitar string.

    Parameters
    ----------
    sample_rate : int
        Samples a second, 8000 to 192000.
    hop : int
        Samples in every block that `push` will be given.

    Returns
    -------
    tracker
        `.push(block, lost_samples=0)` returns a list of `Reading`; `.now_hz` is the best estimate of the pitch at
        this instant (0.0 if none), looking ahead along the motion.
    """
    return Tracker(sample_rate, hop)
