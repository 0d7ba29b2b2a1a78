"""Any sample rate and hop -> one clean history at about 12 kHz, cut into ticks of 2 to 4 ms."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

INNER_RATE_HZ = 12_000.0
"""Enough for three partials of E6, and a quarter of the work of 48 kHz."""
TICK_S = 0.00267
SHORTEST_TICK_S = 0.0018
LOUDEST = 16.0
"""A sample beyond 24 dB over full scale is no sample (a broken driver, a wrong cast): it is heard as 0."""
HIGH_PASS_HZ = 18.0
"""First order, against offset and thumps; it leaves 96 % of B1."""
HISTORY_S = 0.35


class Intake:
    """Takes blocks, keeps the newest `HISTORY_S` of decimated samples in one piece, offset taken out.

    `rate_hz` is the inner sample rate; `delay_s` is by how much the inner samples lag behind the blocks.
    """

    def __init__(self, sample_rate: int, part: int) -> None:
        self._factor = factor = max(1, round(sample_rate / INNER_RATE_HZ))
        self.rate_hz = sample_rate / factor
        self._taps = taps = 10 * factor + 1 if factor > 1 else 1
        self.delay_s = (taps - 1) / 2 / sample_rate
        most = part // factor + 1
        self._raw = np.zeros(taps + part + factor, np.float32)
        self._filled = taps - 1
        self._low_pass, self._band_pass, self._fading = filters(factor, taps, most, len(self._raw), self.rate_hz)
        self._keep = int(HISTORY_S * self.rate_hz)
        self._history = np.zeros(4 * self._keep + most, np.float32)
        self._end = self._keep
        self._offset: float | None = None

    def newest(self, count: int) -> NDArray[np.float32]:
        """The last `count` inner samples (a view, not a copy; at most `HISTORY_S`)."""
        return self._history[self._end - count : self._end]

    def feed(self, block: NDArray[np.float32]) -> int:
        """How many inner samples this part of a block became."""
        if not float(block.dot(block)) < LOUDEST:  # NaN compares false: the careful way is seldom gone
            block = np.where(np.abs(np.nan_to_num(block, nan=0.0, posinf=0.0, neginf=0.0)) < LOUDEST, block, 0)
        raw, taps, factor = self._raw, self._taps, self._factor
        filled = self._filled + len(block)
        raw[self._filled : filled] = block
        count = (filled - taps) // factor + 1 if filled >= taps else 0
        if count:
            self._decimate(raw[:filled], count)
        used = count * factor
        raw[: filled - used] = raw[used:filled]
        self._filled = filled - used
        return count

    def _decimate(self, raw: NDArray[np.float32], count: int) -> None:
        if self._end + count > len(self._history):
            self._history[: self._keep] = self._history[self._end - self._keep : self._end]
            self._end = self._keep
        made = self._history[self._end : self._end + count]
        last = float(self._low_pass[count - 1, : len(raw)].dot(raw))
        if self._offset is None:
            self._offset = last
        np.dot(self._band_pass[:count, : len(raw)], raw, out=made)
        made -= self._fading[:count] * np.float32(self._offset)
        self._offset = last - float(made[-1])
        self._end += count

    def forget(self) -> None:
        """Nothing that was heard so far belongs to what comes."""
        self._history[self._end - self._keep : self._end] = 0.0
        self._raw[: self._taps - 1] = 0.0
        self._filled = self._taps - 1
        self._offset = None


def filters(factor, taps, most, length, rate_hz):
    """Matrices that decimate a stretch: low-passed, and high-passed as well, and what is left of an old offset."""
    at = (np.arange(taps) - (taps - 1) / 2) / factor
    kernel = np.sinc(at) * np.kaiser(taps, 5.0)
    kernel /= kernel.sum()
    low_pass = np.zeros((most, length))
    for row in range(most):
        piece = low_pass[row, row * factor : row * factor + taps]
        piece[:] = kernel[: len(piece)]
    stay = math.exp(-2 * math.pi * HIGH_PASS_HZ / rate_hz)
    age = np.subtract.outer(np.arange(most), np.arange(most))
    follow = np.where(age >= 0, (1 - stay) * stay ** np.maximum(age, 0), 0.0)
    fading = stay ** np.arange(1, most + 1)
    return low_pass.astype(np.float32), (low_pass - follow @ low_pass).astype(np.float32), fading.astype(np.float32)
