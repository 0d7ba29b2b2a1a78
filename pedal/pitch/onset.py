"""Was the string struck just now?"""

from __future__ import annotations

import math

JUST_NOW_TICKS = 2
PAST_TICKS = 8
"""21 ms: longer than a period of B1, so that the pulses of a low string are no news."""
SILENT_POWER = 1e-9
MOST_DB = 60.0
NEW_SHARE_DB = 16.0


class Jump:
    """How far a power has jumped: strongest of the last two ticks over the strongest of the 21 ms before, dB >= 0."""

    def __init__(self) -> None:
        self._powers = [0.0] * (JUST_NOW_TICKS + PAST_TICKS)
        self._at = 0

    def hear(self, power: float, least: float) -> float:
        """The jump after one more tick; nothing below `least` counts."""
        powers, size = self._powers, JUST_NOW_TICKS + PAST_TICKS
        before = powers[self._at - 1]
        powers[self._at] = power
        self._at = (self._at + 1) % size
        newest = power if power > before else before
        at = self._at
        rest = powers[at : at + PAST_TICKS]
        if len(rest) < PAST_TICKS:
            rest = rest + powers[: PAST_TICKS - len(rest)]
        past = max(least, *rest)
        if newest <= past:
            return 0.0
        return min(MOST_DB, 10.0 * math.log10(newest / past))
