"""A frequency -> the rows that bring its first partials into focus."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

MOST_PARTIALS = 4
LOWEST_HZ, HIGHEST_HZ = 52.0, 1900.0
STEP_CENTS = 10.0
FEWEST_PERIODS = 2
SHORTEST_WINDOW_S = 0.006
NYQUIST_SHARE = 0.4
"""Partials above this share of the inner rate are left alone: the decimator has cut into them."""


class PartialFilter:
    """Turns the newest `length` samples into complex amplitudes of the first `count` partials of `hz`.

    A Hann window of whole periods has its zeros on the other partials. Phases belong to the middle of the window,
    `behind` samples before the newest one. `rows` holds the real parts, then the imaginary parts; a steady partial
    of amplitude a comes out as a / 2. White noise of variance v comes out with the variance v x `noise_gain`. From
    `low_hz` to `high_hz` none of the others lies nearer.
    """

    __slots__ = ("behind", "count", "high_hz", "length", "low_hz", "noise_gain", "rows", "seconds")

    def __init__(self, hz: float, rate_hz: float) -> None:
        periods = max(FEWEST_PERIODS, math.ceil(SHORTEST_WINDOW_S * hz - 0.01))
        self.seconds = periods / hz
        reach = self.seconds * rate_hz / 2
        self.behind = math.ceil(reach) - 1
        self.length = 2 * self.behind + 1
        self.count = min(MOST_PARTIALS, max(1, int(NYQUIST_SHARE * rate_hz / hz)))
        at = np.arange(self.behind + 1)  # half of it: the other half is its mirror
        window = np.cos(np.pi * at / (2 * reach)) ** 2
        window /= 2 * window.sum() - window[0]
        self.noise_gain = float(2 * window.dot(window) - window[0] ** 2)
        first = np.exp(-2j * np.pi * hz / rate_hz * at)  # each partial turns by one turn of the first more
        turned = window * np.cumprod(np.broadcast_to(first, (self.count, len(at))), axis=0)
        self.rows = np.empty((2 * self.count, self.length), np.float32)
        real, imaginary = self.rows[: self.count], self.rows[self.count :]
        real[:, self.behind :], imaginary[:, self.behind :] = turned.real, turned.imag
        real[:, : self.behind], imaginary[:, : self.behind] = turned.real[:, :0:-1], -turned.imag[:, :0:-1]
        half_step = 2.0 ** (STEP_CENTS / 2400)
        self.low_hz, self.high_hz = hz / half_step, hz * half_step


class PartialFilters:
    """One filter every `STEP_CENTS` from `LOWEST_HZ` to `HIGHEST_HZ`, each made when it is first asked for.

    All of them at once took a sixth of a start; a player needs a few dozen.
    """

    def __init__(self, rate_hz: float) -> None:
        self._rate_hz = rate_hz
        self._made: dict[int, PartialFilter] = {}
        self._last = int(1200 * math.log2(HIGHEST_HZ / LOWEST_HZ) / STEP_CENTS)

    def nearest(self, hz: float) -> PartialFilter:
        """The filter for about `hz`; the last one beyond either end."""
        at = 0 if hz <= LOWEST_HZ else min(self._last, int(1200 / STEP_CENTS * math.log2(hz / LOWEST_HZ) + 0.5))
        partial_filter = self._made.get(at)
        if partial_filter is None:
            partial_filter = self._made[at] = PartialFilter(LOWEST_HZ * 2.0 ** (at * STEP_CENTS / 1200), self._rate_hz)
        return partial_filter


@lru_cache(maxsize=4)
def partial_filters(rate_hz: float) -> PartialFilters:
    """The filters for one inner sample rate; trackers of the same rate share them, they never change."""
    return PartialFilters(rate_hz)
