"""Block -> how hard the string was struck just now: the jump of its upper sound above the recent past."""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

NOW_S = 0.005
PAST_S = 0.030
"""More than two periods of a low E string: a steady note has one loudest moment a period, and its past holds it too."""
FLOOR_DB = -78.0


class PluckEar:
    """Listens to differences of neighbouring samples, which weigh a pick's noise above the ringing fundamental."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._now = max(1, round(NOW_S * sample_rate / hop))
        self._levels: deque[float] = deque(maxlen=self._now + max(2, round(PAST_S * sample_rate / hop)))
        self._last = np.float32(0.0)

    def strike_db(self, block: NDArray[np.float32]) -> float:
        """How far the newest few milliseconds stand above the tens of milliseconds before, in dB (may be negative)."""
        slope = np.diff(block, prepend=self._last)
        self._last = block[-1]
        energy = float(np.dot(slope, slope)) / len(block)
        self._levels.append(max(FLOOR_DB, 10.0 * np.log10(energy + 1e-12)))
        levels = list(self._levels)
        past = levels[: -self._now]
        return max(levels[-self._now :]) - max(past) if past else 0.0

    def forget(self) -> None:
        """Samples were lost: the past is no measure any more."""
        self._levels.clear()
        self._last = np.float32(0.0)
