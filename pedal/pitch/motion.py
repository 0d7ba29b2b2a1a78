"""Phase advance -> the pitch of a moment ago, and at this instant."""

from __future__ import annotations

import numpy as np

JERK = 4e8
"""Spectral density of the change of acceleration, cents^2/s^5."""
WANDER = 3e7
MOST = 10


def _slope_rows(count):
    at = np.arange(count) - (count - 1) / 2
    return at / (at @ at)


class Motion:
    """Kalman filter of the integrated pitch (cents times seconds), its speed."""

    def __init__(self) -> None:
        self._track = np.zeros(256)
        self._times = np.zeros(256)
        self._end = 0
        self.cents = self.speed = 0.0
        self._sum = self._total = 0.0
        self._p = [0.0] * 6
        self._rows = {n: _slope_rows(n) for n in range(2, MOST + 1)}

    def start(self, cents: float, sigma: float) -> None:
        self.cents, self.speed = cents, 0.0
        self._sum = self._total = 0.0
        self._p = [0.0, 0.0, 0.0, sigma * sigma, 0.0, 300.0**2]
        self._track[0] = 0.0
        self._end = 1

    def hear(self, cents: float, dt: float, variance: float) -> None:
        """Mean cents over the last `dt` seconds; `variance` of the integrated pitch, (cents s)^2."""
        self._total += cents * dt
        if self._end == 256:
            self._track[:MOST] = self._track[256 - MOST :]
            self._end = MOST
        self._track[self._end] = self._total
        self._end += 1
        ss, sc, sv, cc, cv, vv = self._p
        q = WANDER
        h = 0.5 * dt * dt
        # F P F' + Q, constant speed
        a_s, a_c, a_v = ss + dt * sc + h * sv, sc + dt * cc + h * cv, sv + dt * cv + h * vv
        ss = a_s + dt * a_c + h * a_v + q * dt**5 / 20
        sc = a_c + dt * a_v + q * dt**4 / 8
        sv = a_v + q * dt**3 / 6
        c_c, c_v = cc + dt * cv, cv + dt * vv
        cc = c_c + dt * c_v + q * dt**3 / 3
        cv = c_v + q * dt * dt / 2
        vv += q * dt
        self._sum += self.cents * dt + self.speed * h
        self.cents += self.speed * dt
        off = self._total - self._sum
        s = ss + variance
        k0, k1, k2 = ss / s, sc / s, sv / s
        self._sum += k0 * off
        self.cents += k1 * off
        self.speed += k2 * off
        self._p = [ss * (1 - k0), sc * (1 - k0), sv * (1 - k0), cc - k1 * sc, cv - k1 * sv, vv - k2 * sv]

    def smooth(self, tick_s: float) -> tuple[float, float]:
        """(cents, how many ticks ago) over the last ticks."""
        n = min(self._end, MOST)
        if n < 2:
            return self.cents, 0.0
        return float(self._rows[n].dot(self._track[self._end - n : self._end])) / tick_s, (n - 1) / 2
