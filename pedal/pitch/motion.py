"""Phase advance -> the pitch of a moment ago, and at this instant."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

JERK = 6e10
"""Spectral density of the change of acceleration, cents^2/s^5."""
WANDER = 1e7
"""Spectral density of the change of speed, cents^2/s^3."""
SIGMAS = (15.0, 300.0, 5e3)
"""How far cents, speed and acceleration may be off at the start of a note."""
LEVELS = 28
QUIETEST = 2.0**-26
STARTING_TICKS = 16
MOST = 10


@lru_cache(maxsize=8)
def gains(tick_s: float) -> list[list[tuple[float, float, float, float]]]:
    """Kalman gains on (integrated cents, cents, speed, acceleration): a row a noise level, a column a tick since start."""
    dt = tick_s
    step = np.array([[1, dt, dt**2 / 2, dt**3 / 6], [0, 1, dt, dt**2 / 2], [0, 0, 1, dt], [0, 0, 0, 1]])
    ramp = np.array([dt**4 / 24, dt**3 / 6, dt**2 / 2, dt]) / math.sqrt(dt)
    ramp3 = np.array([dt**3 / 6, dt**2 / 2, dt, 0]) / math.sqrt(dt)
    noise = JERK * np.outer(ramp, ramp) + WANDER * np.outer(ramp3, ramp3)
    table = []
    for level in range(LEVELS):
        variance = QUIETEST * 2.0**level
        p = np.diag([variance, *(s * s for s in SIGMAS)])
        row = []
        for _ in range(STARTING_TICKS):
            p = step @ p @ step.T + noise
            k = p[:, 0] / (p[0, 0] + variance)
            p = p - np.outer(k, p[0])
            row.append(tuple(float(v) for v in k))
        for _ in range(300):
            p = step @ p @ step.T + noise
            k = p[:, 0] / (p[0, 0] + variance)
            p = p - np.outer(k, p[0])
        row.append(tuple(float(v) for v in k))
        table.append(row)
    return table


def _slope_rows(count: int) -> NDArray[np.float64]:
    at = np.arange(count) - (count - 1) / 2
    return at / (at @ at)


class Motion:
    """Follows the integrated pitch (cents times seconds)."""

    def __init__(self, tick_s: float) -> None:
        self._gains = gains(tick_s)
        self._track = np.zeros(256)
        self._end = 0
        self.cents = self.speed = self.change = 0.0
        self._sum = self._total = 0.0
        self._rows = {n: _slope_rows(n) for n in range(2, MOST + 1)}
        self._ticks = 0

    def start(self) -> None:
        self.cents = self.speed = self.change = 0.0
        self._sum = self._total = 0.0
        self._track[0] = 0.0
        self._end = 1
        self._ticks = 0

    def hear(self, cents: float, dt: float, variance: float) -> None:
        """Mean cents over the last `dt` seconds; `variance` of the integrated pitch, (cents s)^2."""
        total = self._total = self._total + cents * dt
        if self._end == 256:
            self._track[:MOST] = self._track[256 - MOST :]
            self._end = MOST
        self._track[self._end] = total
        self._end += 1
        level = math.frexp(variance)[1] + 26
        row = self._gains[0 if level < 0 else level if level < LEVELS else LEVELS - 1]
        k0, k1, k2, k3 = row[self._ticks]
        if self._ticks < STARTING_TICKS:
            self._ticks += 1
        h = 0.5 * dt * dt
        expected = self._sum + self.cents * dt + self.speed * h + self.change * h * dt / 3
        off = total - expected
        self._sum = expected + k0 * off
        self.cents += self.speed * dt + self.change * h + k1 * off
        self.speed += self.change * dt + k2 * off
        self.change += k3 * off

    def ahead(self, seconds: float) -> float:
        return self.cents + seconds * (self.speed + 0.5 * seconds * self.change)

    def smooth(self, tick_s: float) -> tuple[float, float]:
        """(cents, how many ticks ago) over the last ticks."""
        n = min(self._end, MOST)
        if n < 2:
            return self.cents, 0.0
        return float(self._rows[n].dot(self._track[self._end - n : self._end])) / tick_s, (n - 1) / 2
