"""Mean pitch of each tick -> the pitch of a moment ago, and at this instant."""

from __future__ import annotations

import math
from collections import deque
from functools import lru_cache
from operator import mul

import numpy as np
from numpy.typing import NDArray

JERK = 2e10
"""Spectral density of the change of acceleration, cents^2/s^5, and of speed, cents^2/s^3: tuned on modelled bends."""
WANDER = 3e6
START_SIGMAS = (15.0, 300.0, 5e3)
"""How far cents, speed and acceleration may be off at the start of a note."""
QUIETEST_EXPONENT, LEVELS = -26, 28
"""The gains are tabled for variances of 2^-26 (cents s)^2 and up, a factor of 2 apart."""
STARTING_TICKS = 16
SMOOTHED_TICKS = 10

Gains = tuple[float, float, float, float]


@lru_cache(maxsize=8)
def gains(tick_s: float) -> tuple[tuple[Gains, ...], ...]:
    """Kalman gains on (cents x s, cents, speed, acceleration): a row a noise level, a column a tick since start."""
    dt = tick_s
    step = np.array([[1, dt, dt**2 / 2, dt**3 / 6], [0, 1, dt, dt**2 / 2], [0, 0, 1, dt], [0, 0, 0, 1]])
    jerked = np.array([dt**4 / 24, dt**3 / 6, dt**2 / 2, dt])
    pushed = np.array([dt**3 / 6, dt**2 / 2, dt, 0.0])
    drift = (JERK * np.outer(jerked, jerked) + WANDER * np.outer(pushed, pushed)) / dt
    variances = 2.0 ** (QUIETEST_EXPONENT + np.arange(LEVELS))
    # A column a noise level, in it the sixteen covariances row by row: one product steps those of all levels.
    both_steps = np.kron(step, step)
    p = np.zeros((4, 4, LEVELS))
    p[0, 0] = variances
    for state, sigma in enumerate(START_SIGMAS, 1):
        p[state, state] = sigma * sigma
    columns: list[NDArray[np.float64]] = []
    for tick in range(20 * STARTING_TICKS):
        p = (both_steps @ p.reshape(16, LEVELS)).reshape(p.shape) + drift[:, :, np.newaxis]
        gain = p[0] / (p[0, 0] + variances)
        p -= gain[:, np.newaxis] * p[0]
        if tick < STARTING_TICKS:
            columns.append(gain)
    columns.append(gain)  # it no longer changes
    rows = np.array(columns).transpose(2, 0, 1).tolist()
    return tuple(tuple((a, b, c, d) for a, b, c, d in row) for row in rows)


def _from_middle(count: int) -> tuple[float, ...]:
    """What values are weighed by to tell how far they rise: of times that are nearly even, a straight line's fit."""
    return tuple([each - (count - 1) / 2 for each in range(count)])


class Motion:
    """Follows the pitch in cents over the pitch at the start of the note.

    What is measured is its integral (a phase), whose noise does not grow: cents times seconds. `cents`, `speed` and
    `change` (cents/s, cents/s^2) belong to the moment of the last measurement.
    """

    def __init__(self, tick_s: float) -> None:
        self._gains = gains(tick_s)
        self._weights = {count: _from_middle(count) for count in range(2, SMOOTHED_TICKS + 1)}
        self._track: deque[float] = deque(maxlen=SMOOTHED_TICKS)
        self._times: deque[float] = deque(maxlen=SMOOTHED_TICKS)
        self.start()

    def start(self) -> None:
        """A new note, standing still as far as anyone knows."""
        self.cents = self.speed = self.change = 0.0
        self._expected = self._total = 0.0
        self._track.clear()
        self._track.append(0.0)
        self._times.clear()
        self._times.append(0.0)
        self._ticks = 0

    def hear(self, cents: float, seconds: float, variance: float, ticks: int = 1) -> None:
        """Mean cents over each of the last `ticks`, `seconds` long; `variance` is that of the integral, (cents s)^2."""
        level = math.frexp(variance)[1] - QUIETEST_EXPONENT
        row = self._gains[0 if level < 0 else level if level < LEVELS else LEVELS - 1]
        half = 0.5 * seconds * seconds
        for _ in range(ticks):
            total = self._total = self._total + cents * seconds
            self._track.append(total)
            self._times.append(self._times[-1] + seconds)
            on_total, on_cents, on_speed, on_change = row[self._ticks]
            if self._ticks < STARTING_TICKS:
                self._ticks += 1
            change = self.change
            expected = self._expected + self.cents * seconds + self.speed * half + change * half * seconds / 3.0
            off = total - expected
            self._expected = expected + on_total * off
            self.cents += self.speed * seconds + change * half + on_cents * off
            self.speed += change * seconds + on_speed * off
            self.change = change + on_change * off

    def ahead(self, seconds: float) -> float:
        """Cents expected that much later."""
        return self.cents + seconds * (self.speed + 0.5 * seconds * self.change)

    def smooth(self) -> tuple[float, float]:
        """(cents, how many seconds before the last measurement) over the last ticks: no model, a straight fit.

        Over the time that was measured: where the window takes one period more or less, its middle moves, and a tick is
        shorter or longer than the others.
        """
        count, times = len(self._track), self._times
        if count < 2:
            return self.cents, 0.0
        weights = self._weights[count]
        return sum(map(mul, weights, self._track)) / sum(map(mul, weights, times)), times[-1] - sum(times) / count
