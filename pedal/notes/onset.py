"""Blocks and readings -> strikes: moments at which a string may have been plucked."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.reading import Reading

NOW_S = 0.005
PAST_S = 0.030
"""More than two periods of a low E string: a steady note has one loudest moment a period, and its past holds it too."""
FLOOR_DB = -78.0
STRIKE_DB = 3.5
"""On sampled guitars the upper sound of a ringing note never jumps by more than 2 dB, at a pluck by 4 to 40."""
LEAST_EDGE_DB, BROKEN_DB = 1.5, 8.5
"""A pluck softer than what rings shows best where the wave stops repeating; so does a hammer-on, at another pitch."""
STEADY_RATIO = 1.01
"""17 cents."""
APART_S = 0.040
LOUDEST_S = 0.014
"""A low string is loud once a period."""


@dataclass(frozen=True, slots=True)
class Strike:
    """`sure` is False where only the wave broke off: `before_hz` must then be the pitch afterwards as well.

    `before_db` and `loud_db`: the level before, and the loudest since.
    """

    time_s: float
    sure: bool
    before_hz: float
    before_db: float
    loud_db: float


class Strikes:
    """Watches for strikes; `latest` is the one that still waits for its pitch, or None."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._hop_s = hop / sample_rate
        self._now = max(1, round(NOW_S / self._hop_s))
        self._edges: deque[float] = deque(maxlen=self._now + max(2, round(PAST_S / self._hop_s)))
        self._levels: deque[float] = deque(maxlen=max(1, round(LOUDEST_S / self._hop_s)))
        self._last_sample = np.float32(0.0)
        self._last_s = -1.0
        self._hz: deque[float] = deque(maxlen=max(2, round(PAST_S / self._hop_s)))
        self.latest: Strike | None = None

    @property
    def loud_db(self) -> float:
        """The loudest of the last milliseconds, dBFS."""
        return max(self._levels, default=-120.0)

    def hear(self, reading: Reading, block: NDArray[np.float32]) -> None:
        """One reading more and its block."""
        now, before_db = reading.heard_s, self.loud_db
        edge_db = self._edge_db(block)
        sure = edge_db >= STRIKE_DB
        broken = edge_db >= LEAST_EDGE_DB and reading.attack_db >= BROKEN_DB and self._steady_hz() > 0.0
        if sure or broken:
            if now - self._last_s > APART_S:
                self.latest = Strike(now - self._hop_s, sure, self._steady_hz(), before_db, reading.level_db)
            elif self.latest is not None and sure and not self.latest.sure:
                self.latest = Strike(self.latest.time_s, True, 0.0, self.latest.before_db, reading.level_db)
            self._last_s = now
        self._levels.append(reading.level_db)
        self._hz.append(reading.hz)
        strike = self.latest
        if strike is not None and now - strike.time_s < APART_S and reading.level_db > strike.loud_db:
            self.latest = Strike(strike.time_s, strike.sure, strike.before_hz, strike.before_db, reading.level_db)

    def forget(self) -> None:
        """Samples were lost: the past is no measure any more."""
        self._edges.clear()
        self._hz.clear()
        self._last_sample = np.float32(0.0)

    def _edge_db(self, block: NDArray[np.float32]) -> float:
        """How far differences of neighbouring samples, which weigh a pick's noise, stand above their recent past."""
        slope, step = block[1:] - block[:-1], block[0] - self._last_sample
        self._last_sample = block[-1]
        energy = float(slope.dot(slope) + step * step) / len(block)
        self._edges.append(max(FLOOR_DB, 10.0 * math.log10(energy + 1e-12)))
        edges = list(self._edges)
        past = edges[: -self._now]
        return max(edges[-self._now :]) - max(past) if past else 0.0

    def _steady_hz(self) -> float:
        """The pitch of the last moments if it stood still, else 0.0."""
        lowest, highest = min(self._hz, default=0.0), max(self._hz, default=0.0)
        return highest if lowest > 0.0 and highest < STEADY_RATIO * lowest else 0.0
