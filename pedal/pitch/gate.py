"""Is there anything to hear? The level of silence is learned while nothing sounds."""

from __future__ import annotations

from collections import deque

OVER_FLOOR = 6.0
"""Power over the learned floor (8 dB) from which something sounds."""
LEAST_POWER = 3e-9
"""-85 dBFS: below this no converter of a pedal tells a string from its own noise."""
FIRST_FLOOR = 3e-8
FALL = 2e-3
"""A tick this far (-27 dB) below the note's recent strength: the note is over, whatever the floor is."""
TICKS_A_PERIOD = 6


class Gate:
    """Open while the newest ticks are clearly louder than learned silence and have not dropped out of the note."""

    def __init__(self) -> None:
        self.floor = FIRST_FLOOR
        self.loudest = 0.0
        self._recent: deque[float] = deque([0.0] * TICKS_A_PERIOD, TICKS_A_PERIOD)
        self._strength = 0.0

    def hear(self, power: float) -> bool:
        """Whether something sounds, after one more tick of this mean power."""
        self._recent.append(power)
        self.loudest = loudest = max(self._recent)
        self._strength = max(loudest, 0.93 * self._strength)
        return loudest > LEAST_POWER and loudest > OVER_FLOOR * self.floor and loudest > FALL * self._strength

    def learn(self, power: float, rate: float) -> None:
        """This tick was no note: the floor moves towards it."""
        self.floor += rate * (min(power, 4 * self.floor) - self.floor)
