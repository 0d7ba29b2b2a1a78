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
HISTORY_S = 0.2
"""As long as a second string is looked for: a Blackman window of it parts the partials of neighbouring strings."""


def tamed(samples: Samples) -> Samples:
    """The same samples, shape (n,) with n > 0, but 0 where they are not below `LOUDEST`, or not a number."""
    highest, lowest = samples[samples.argmax()], samples[samples.argmin()]
    if highest < LOUDEST and lowest > -LOUDEST:  # NaN is its own highest, and compares false
        return samples
    return np.where(np.abs(samples) < LOUDEST, samples, np.float32(0.0))


def thinning(sample_rate: int) -> int:
    """How many samples become one."""
    return max(1, round(sample_rate / INNER_RATE_HZ))


class Intake:
    """Takes parts of blocks, one or up to `parts` of them at once, keeps the newest `HISTORY_S` of inner samples.

    `rate_hz` is the inner sample rate, `factor` how many samples become one; `delay_s` is by how much the inner samples
    lag behind the blocks. What was fed is looked at from `now` on back, which `step` moves: blocks of any length can be
    looked at in equal steps. Several parts fed at once give the very same samples as one after the other does.
    """

    def __init__(self, sample_rate: int, longest_part: int, parts: int = 1) -> None:
        self.factor = factor = thinning(sample_rate)
        self.rate_hz = sample_rate / factor
        self._taps = taps = 10 * factor + 1 if factor > 1 else 1
        self.delay_s = (taps - 1) / 2 / sample_rate
        self._most_a_part = -(-longest_part // factor)
        most = parts * longest_part // factor + 1
        # The offset so far is kept as one more input before the samples, so that one product does everything.
        self._raw = np.zeros(1 + taps + parts * longest_part + factor, np.float32)
        self._filled = taps
        self._band_pass, self._offset_rows = _filters(factor, taps, self._most_a_part, self.rate_hz)
        self._whole, self._less = self._rows(self._most_a_part), dict[int, Samples]()
        needed, step = self._whole.shape[1], self._most_a_part * factor
        self._windows = [self._raw[at : at + needed] for at in range(0, len(self._raw) - needed + 1, step)]
        self._sample_rate = sample_rate
        self._keep = round(HISTORY_S * self.rate_hz) + most
        # Short, so that it stays in the processor's nearest memory.
        self._history = np.zeros(2 * self._keep + most + 1, np.float32)
        self._end = self._now = self._keep
        self.heard = 0
        """Inner samples up to now, and as many more as are kept wherever nothing joins on."""
        self._fresh = True

    @property
    def waiting(self) -> int:
        """Inner samples beyond now."""
        return self._end - self._now

    @property
    def ago_s(self) -> float:
        """How much later than now the last part ended, over and above `delay_s`."""
        return (self.waiting * self.factor + self._filled - self._taps) / self._sample_rate

    def step(self, count: int) -> None:
        """Now is `count` of the waiting samples later."""
        self._now += count
        self.heard += count

    def newest(self, count: int) -> Samples:
        """The last `count` inner samples up to now (a view, not a copy), at most `HISTORY_S`, whatever waits beside."""
        return self._history[self._now - count : self._now]

    def before(self, ago: int, count: int) -> Samples:
        """The `count` samples that end `ago` samples before now (a view)."""
        end = self._now - ago
        return self._history[end - count : end]

    def next(self, count: int) -> Samples:
        """The inner sample up to now, and the next `count` of those that wait (a view)."""
        return self._history[self._now - 1 : self._now + count]

    def feed(self, samples: Samples) -> None:
        """A part of a block more, or several, tamed: they are waiting until they are stepped over."""
        raw = self._raw
        filled = self._filled + len(samples)
        raw[self._filled : filled] = samples
        count = (filled - 1 - self._taps) // self.factor + 1
        if count > 0:
            self._decimate(count)
            used = count * self.factor
            raw[: filled - used] = raw[used:filled]
            filled -= used
        self._filled = filled

    def forget(self) -> None:
        """Nothing that was heard so far belongs to what comes."""
        self._history[self._end - self._keep : self._end] = 0.0
        self._now = self._end
        self.heard += len(self._history)
        self._raw[:] = 0.0
        self._filled = self._taps
        self._fresh = True

    def _decimate(self, count: int) -> None:
        raw, history, end = self._raw, self._history, self._end
        if end + count >= len(history):
            history[: self._keep] = history[end - self._keep : end]
            self._now -= end - self._keep
            end = self._keep
        if self._fresh:  # an offset that was there from the first sample is no thump
            raw[: self._taps] = raw[self._taps : self._taps + min(count, self._most_a_part)].mean()
            self._fresh = False
        # Part by part, so that it is all the same how many come at once. The row after the last sample gives the offset
        # there, for the next part: it goes where a sample lay that is not needed any more.
        self._end = last = end + count
        at, most = 0, self._most_a_part
        for window in self._windows[: count // most]:
            self._whole.dot(window, history[end : end + most + 1])
            at, end = at + most * self.factor, end + most
            raw[at] = history[end]
        if end < last:
            rows = self._less.get(last - end)
            if rows is None:
                rows = self._less[last - end] = self._rows(last - end)
            rows.dot(raw[at : at + rows.shape[1]], history[end : last + 1])
            raw[at + (last - end) * self.factor] = history[last]

    def _rows(self, count: int) -> Samples:
        """What makes `count` samples and the offset after them; a stream has one or two counts."""
        rows = np.vstack([self._band_pass[:count], self._offset_rows[count - 1]])
        return rows[:, : 1 + self._taps + (count - 1) * self.factor].copy()


def _filters(factor: int, taps: int, most: int, rate_hz: float) -> tuple[Samples, Samples]:
    """Matrices from (offset, samples) to `most` decimated, band-passed samples, and to the offset after each."""
    at = (np.arange(taps) - (taps - 1) / 2) / factor
    kernel = np.sinc(at) * np.kaiser(taps, 5.0)
    kernel /= kernel.sum()
    low_pass = np.zeros((most, 1 + taps + (most - 1) * factor))
    for row in range(most):
        low_pass[row, 1 + row * factor : 1 + row * factor + taps] = kernel
    stay = math.exp(-2 * math.pi * HIGH_PASS_HZ / rate_hz)
    age = np.subtract.outer(np.arange(most), np.arange(most))
    offset = np.where(age >= 0, (1 - stay) * stay ** np.maximum(age, 0), 0.0) @ low_pass
    offset[:, 0] = stay ** np.arange(1, most + 1)
    return (low_pass - offset).astype(np.float32), offset.astype(np.float32)
