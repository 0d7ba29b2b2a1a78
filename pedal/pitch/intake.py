"""Any sample rate and hop -> one clean history at about 12 kHz, cut into ticks of 2 to 4 ms."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

INNER_RATE_HZ = 12_000.0
"""Enough for three partials of E6, and a quarter of the work of 48 kHz."""
TICK_S = 0.00267
SHORTEST_TICK_S = 0.0018
LOUDEST = 16.0
"""A sample beyond 24 dB over full scale is no sample (a broken driver, a wrong cast): it is heard as 0."""
DC_SETTLES_S = 0.25
HISTORY_S = 0.35


class Intake:
    """Takes blocks, keeps the newest `HISTORY_S` of decimated samples in one piece; the offset is taken out.

    `rate_hz` is the inner sample rate; `delay_s` is by how much the inner samples lag behind the blocks.
    """

    def __init__(self, sample_rate: int, part: int) -> None:
        self._factor = factor = max(1, round(sample_rate / INNER_RATE_HZ))
        self.rate_hz = sample_rate / factor
        taps = 10 * factor + 1 if factor > 1 else 1
        self.delay_s = (taps - 1) / 2 / sample_rate
        at = (np.arange(taps) - (taps - 1) / 2) / factor
        low_pass = np.sinc(at) * np.kaiser(taps, 5.0)
        self._taps = taps
        most = part // factor + 1
        self._raw = np.zeros(taps + part + factor, np.float32)
        self._filled = taps - 1
        self._matrix = np.zeros((most, len(self._raw)), np.float32)
        for row in range(most):
            piece = self._matrix[row, row * factor : row * factor + taps]
            piece[:] = (low_pass / low_pass.sum())[: len(piece)]
        self._keep = int(HISTORY_S * self.rate_hz)
        self._history = np.zeros(4 * self._keep + most, np.float32)
        self._end = self._keep
        self._offset = 0.0
        self._heard = 0

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
        if self._end + count > len(self._history):
            self._history[: self._keep] = self._history[self._end - self._keep : self._end]
            self._end = self._keep
        if count:
            made = self._history[self._end : self._end + count]
            np.dot(self._matrix[:count, :filled], raw[:filled], out=made)
            mean = float(made.sum()) / count
            self._heard += count
            self._offset += (mean - self._offset) * max(count / self._heard, count / (DC_SETTLES_S * self.rate_hz))
            made -= np.float32(self._offset)
            self._end += count
        used = count * factor
        raw[: filled - used] = raw[used:filled]
        self._filled = filled - used
        return count

    def forget(self) -> None:
        """Nothing that was heard so far belongs to what comes."""
        self._history[self._end - self._keep : self._end] = 0.0
        self._raw[: self._taps - 1] = 0.0
        self._filled = self._taps - 1
