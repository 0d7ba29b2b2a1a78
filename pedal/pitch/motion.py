"""Readings of the past -> the pitch at this instant: constant velocity on log frequency, Kalman's filter."""

from __future__ import annotations

WANDER = 3e5
"""Spectral density of the change of speed, cents^2/s^3: a whole-step bend of 0.2 s."""


class Motion:
    """Pitch in cents (over any reference) and its speed in cents a second, with their uncertainty."""

    def __init__(self) -> None:
        self.cents = self.speed = 0.0
        self.time_s = 0.0
        self._p = (0.0, 0.0, 0.0)

    def start(self, cents: float, time_s: float, *, sigma: float = 20.0) -> None:
        """A new note: standing still as far as anyone knows."""
        self.cents, self.speed, self.time_s = cents, 0.0, time_s
        self._p = (sigma * sigma, 0.0, 200.0**2)

    def hear(self, cents: float, time_s: float, sigma: float) -> float:
        """One measurement; how far it was off what was expected."""
        dt = time_s - self.time_s
        self.time_s = time_s
        a, b, c = self._p
        a += dt * (2 * b + dt * c) + WANDER * dt**3 / 3
        b += dt * c + WANDER * dt * dt / 2
        c += WANDER * dt
        off = cents - (self.cents + self.speed * dt)
        s = a + sigma * sigma
        gain, gain_speed = a / s, b / s
        self.cents += self.speed * dt + gain * off
        self.speed += gain_speed * off
        self._p = (a * (1 - gain), b * (1 - gain), c - gain_speed * b)
        return off

    def at(self, time_s: float) -> float:
        """Expected cents at another time."""
        return self.cents + self.speed * (time_s - self.time_s)
