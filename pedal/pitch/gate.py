"""Is there anything to hear? The level of silence is learned while nothing sounds."""

from __future__ import annotations

from collections import deque
from itertools import islice

OVER_FLOOR, STILL_OVER = 6.0, 1.8
"""Power over the learned floor (8 dB) from which something sounds, and (2.5 dB) down to which a held note does."""
STANDS_OUT = 1.5
"""Power of a held note's partials over the noise at their place from which it sounds, however loud hum is."""
LEAST_POWER = 3e-9
"""-85 dBFS: below this no converter of a pedal tells a string from its own noise."""
FIRST_FLOOR = 3e-8
FALL = 2e-3
"""A whole period this far (-27 dB) below the note's recent strength: the note is over, whatever the floor is."""
FORGETS = 0.93
"""What is left of the remembered strength after a tick: 20 dB in 170 ms."""
TICKS_A_PERIOD = 6
"""16 ms: a low string pulses, and only its strongest tick tells how loud it is."""
TICKS_REMEMBERED = 12
FADED = 0.08
"""A period this far (-11 dB) below the one before is a note being cut off: what it still does is no motion."""


class Gate:
    """Open while the newest ticks are clearly louder than learned silence and have not dropped out of the note."""

    def __init__(self) -> None:
        self.floor = FIRST_FLOOR
        self.loudest = 0.0
        self._recent: deque[float] = deque([0.0] * TICKS_REMEMBERED, TICKS_REMEMBERED)
        self._strength = 0.0

    def hear(self, power: float, *, over_noise: float) -> bool:
        """Whether something sounds, after one more tick of this mean power.

        `over_noise` is how far the partials of a held note stand out (a power ratio), 0 if there is none: such a note
        may sink into the floor.
        """
        self._recent.appendleft(power)
        self.loudest = loudest = max(islice(self._recent, TICKS_A_PERIOD))
        remembered = FORGETS * self._strength
        self._strength = loudest if loudest > remembered else remembered
        if loudest < LEAST_POWER or loudest < FALL * self._strength:
            return False
        return over_noise > STANDS_OUT or loudest > (STILL_OVER if over_noise else OVER_FLOOR) * self.floor

    def fading(self, ticks: int) -> bool:
        """Whether the last `ticks`, a period or more, are far below what was before."""
        recent = self._recent
        faded = FADED * max(recent)
        return recent[0] < faded and max(islice(recent, ticks)) < faded

    def buried(self, over_noise: float) -> bool:
        """Whether a held note stands out by its partials alone: how alike the sound is to itself tells of the hum."""
        return over_noise > STANDS_OUT and self.loudest < OVER_FLOOR * self.floor

    def learn(self, *, falls: float, rises: float) -> None:
        """What sounds is no note: the floor moves towards its loudest tick by this share, upwards from 6 dB at most."""
        off = min(self.loudest, 4.0 * self.floor) - self.floor
        self.floor += off * (falls if off < 0.0 else rises)
