"""Any sample rate and hop -> one clean history at about 12 kHz."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

INNER_RATE_HZ = 12_000.0
"""Enough for three partials of E6, and a quarter of the work of 48 kHz."""
LOUDEST = 16.0
"""A sample beyond 24 dB over full scale is no sample (a broken driver, a wrong cast): it is heard as 0."""
HIGH_PASS_HZ = 18.0
"""First order, against offset and thumps; it leaves 96 % of B1."""
HISTORY_S = 0.21


def tamed(samples: Samples) -> Samples:
    """The same samples, shape (n,) with n > 0, but 0 where they are not below `LOUDEST`, or not a number."""
    highest, lowest = samples[samples.argmax()], samples[samples.argmin()]
    if highest < LOUDEST and lowest > -LOUDEST:  # NaN is its own highest, and compares false
        return samples
    return np.where(np.abs(samples) < LOUDEST, samples, np.float32(0.0))


class Intake:
    """Takes parts of blocks, keeps the newest `HISTORY_S` of inner samples in one piece.

    `rate_hz` is the inner sample rate; `delay_s` is by how much the inner samples lag behind the blocks. What was fed
    is looked at from `now` on back, which `step` moves: blocks of any length can be looked at in equal steps.
    """

    def __init__(self, sample_rate: int, longest_part: int) -> None:
        self._factor = factor = max(1, round(sample_rate / INNER_RATE_HZ))
        self.rate_hz = sample_rate / factor
        self._taps = taps = 10 * factor + 1 if factor > 1 else 1
        self.delay_s = (taps - 1) / 2 / sample_rate
        most = longest_part // factor + 1
        # The offset so far is kept as one more input before the samples, so that one product does everything.
        self._raw = np.zeros(1 + taps + longest_part + factor, np.float32)
        self._filled = taps
        self._band_pass, self._offset_rows = _filters(factor, taps, most, len(self._raw), self.rate_hz)
        self._joined: dict[int, Samples] = {}
        self._sample_rate = sample_rate
        self._keep = int(HISTORY_S * self.rate_hz) + most
        # Short, so that it stays in the processor's nearest memory.
        self._history = np.zeros(2 * self._keep + most + 1, np.float32)
        self._end = self._now = self._keep
        self.waiting = 0
        """Inner samples beyond now. Plain numbers, not properties: they are asked for at each tick."""
        self.heard = 0
        """Inner samples up to now, and as many more as are kept wherever nothing joins on."""
        self._fresh = True

    @property
    def ago_s(self) -> float:
        """How much later than now the last part ended, over and above `delay_s`."""
        return (self.waiting * self._factor + self._filled - self._taps) / self._sample_rate

    def step(self, count: int) -> None:
        """Now is `count` of the waiting samples later."""
        self._now += count
        self.heard += count
        self.waiting -= count

    def newest(self, count: int) -> Samples:
        """The last `count` inner samples up to now (a view, not a copy); with what waits at most `HISTORY_S`."""
        return self._history[self._now - count : self._now]

    def feed(self, part: Samples) -> None:
        """A part of a block more, tamed: it is waiting until it is stepped over."""
        raw, factor = self._raw, self._factor
        filled = self._filled + len(part)
        raw[self._filled : filled] = part
        count = (filled - 1 - self._taps) // factor + 1
        if count > 0:
            self._decimate(count)
            used = count * factor
            raw[1 : filled - used] = raw[1 + used : filled]
            filled -= used
        self._filled = filled

    def forget(self) -> None:
        """Nothing that was heard so far belongs to what comes."""
        self._history[self._end - self._keep : self._end] = 0.0
        self._now = self._end
        self.waiting = 0
        self.heard += len(self._history)
        self._raw[:] = 0.0
        self._filled = self._taps
        self._fresh = True

    def _decimate(self, count: int) -> None:
        if self._end + count >= len(self._history):
            self._history[: self._keep] = self._history[self._end - self._keep : self._end]
            self._now -= self._end - self._keep
            self._end = self._keep
        raw = self._raw
        if self._fresh:  # an offset that was there from the first sample is no thump
            raw[: self._taps] = raw[self._taps : self._taps + count].mean()
            self._fresh = False
        # All columns: a product with part of them would copy the matrix; what lies beyond the samples meets zeros. The
        # row after the last sample gives the offset there, for the next time; its place is then overwritten.
        end = self._end + count
        np.dot(self._rows(count), raw, out=self._history[self._end : end + 1])
        raw[0] = self._history[end]
        self._end = end
        self.waiting += count

    def _rows(self, count: int) -> Samples:
        """What makes `count` samples and the offset after them; a stream has one or two counts."""
        rows = self._joined.get(count)
        if rows is None:
            rows = self._joined[count] = np.vstack([self._band_pass[:count], self._offset_rows[count - 1]])
        return rows


def _filters(factor: int, taps: int, most: int, length: int, rate_hz: float) -> tuple[Samples, Samples]:
    """Matrices from (offset, samples) to `most` decimated, band-passed samples, and to the offset after each."""
    at = (np.arange(taps) - (taps - 1) / 2) / factor
    kernel = np.sinc(at) * np.kaiser(taps, 5.0)
    kernel /= kernel.sum()
    low_pass = np.zeros((most, length))
    for row in range(most):
        piece = low_pass[row, 1 + row * factor : 1 + row * factor + taps]
        piece[:] = kernel[: len(piece)]
    stay = math.exp(-2 * math.pi * HIGH_PASS_HZ / rate_hz)
    age = np.subtract.outer(np.arange(most), np.arange(most))
    offset = np.where(age >= 0, (1 - stay) * stay ** np.maximum(age, 0), 0.0) @ low_pass
    offset[:, 0] = stay ** np.arange(1, most + 1)
    return (low_pass - offset).astype(np.float32), offset.astype(np.float32)
