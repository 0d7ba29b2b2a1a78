"""Was the string struck just now?"""

from __future__ import annotations

import math

from pedal.pitch.intake import TICK_S

JUST_NOW_TICKS = 2
PAST_TICKS = 8
"""21 ms: longer than a period of B1, so that the pulses of a low string are no news."""
SILENT_POWER = 1e-9
MOST_DB = 60.0


class Onset:
    """How far the *edge* of the sound (its first difference, where picks and fresh upper partials are) has jumped."""

    def __init__(self) -> None:
        self._edges = [0.0] * (JUST_NOW_TICKS + PAST_TICKS)
        self._at = 0

    def hear(self, edge_power: float, floor_power: float) -> float:
        """attack_db after one more tick: strongest of the last two ticks over the strongest of the 21 ms before."""
        edges = self._edges
        edges[self._at] = edge_power
        newest = edges[self._at] if edges[self._at] > edges[self._at - 1] else edges[self._at - 1]
        self._at = (self._at + 1) % len(edges)
        past = SILENT_POWER + 4.0 * floor_power
        for back in range(PAST_TICKS):
            value = edges[(self._at + back) % len(edges)]
            past = max(past, value)
        if newest <= past:
            return 0.0
        return min(MOST_DB, 10.0 * math.log10(newest / past))


__all__ = ["TICK_S", "Onset"]
