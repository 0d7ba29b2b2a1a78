"""Blocks and readings -> strikes: moments at which a string may have been plucked."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.reading import Reading

Samples = NDArray[np.float32]

NOW_S = 0.005
PAST_S = 0.030
"""More than two periods of a low E string: a steady note has one loudest moment a period, and its past holds it too."""
FLOOR_DB = -78.0
SLOPE_DB = 3.5
"""On sampled guitars the slope of a ringing note never jumps by more than 2 dB, at a pluck by 8 to 40."""
SCRATCH_DB, BROKEN_DB = 4.5, 6.0
"""A softer pluck shows by its scratch where the wave breaks off too: a finger sliding along a string only scratches,
a hammer-on only breaks the wave."""
APART_S = 0.040
LOUDEST_S = 0.014
"""A low string is loud once a period."""


@dataclass(frozen=True, slots=True)
class Strike:
    """`before_db` and `loud_db`: the level before, and the loudest since."""

    time_s: float
    before_db: float
    loud_db: float


class Edge:
    """How far the energy of some difference of the sound, which weighs its upper part, jumps above its recent past."""

    def __init__(self, hop_s: float) -> None:
        self._now = max(1, round(NOW_S / hop_s))
        self._past = max(2, round(PAST_S / hop_s))
        self._energies_db: deque[float] = deque(maxlen=self._now + self._past)

    def jump_db(self, edge: Samples) -> float:
        """The loudest of the newest milliseconds over the loudest of the tens before, in dB."""
        energy = float(edge.dot(edge)) / len(edge)
        energies = self._energies_db
        energies.append(max(FLOOR_DB, 10.0 * math.log10(energy + 1e-12)))
        past = len(energies) - self._now
        if past <= 0:
            return 0.0
        return max(islice(energies, past, None)) - max(islice(energies, past))

    def forget(self) -> None:
        """Samples were lost: the past is no measure any more."""
        self._energies_db.clear()


class Strikes:
    """Watches for strikes; `latest` is the one that still waits for its pitch, or None."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._hop_s = hop / sample_rate
        self._slope, self._scratch = Edge(self._hop_s), Edge(self._hop_s)
        self._joined: Samples = np.zeros(2 + hop, np.float32)
        self._levels: deque[float] = deque(maxlen=max(1, round(LOUDEST_S / self._hop_s)))
        self._last_s = -1.0
        self.latest: Strike | None = None

    @property
    def loud_db(self) -> float:
        """The loudest of the last milliseconds, dBFS."""
        return max(self._levels, default=-120.0)

    def hear(self, reading: Reading, block: Samples) -> None:
        """One reading more and its block of `hop` samples."""
        now, level = reading.heard_s, reading.level_db
        slope, curve = self._differences(block)
        scratched = self._scratch.jump_db(curve) >= SCRATCH_DB and reading.attack_db >= BROKEN_DB
        if self._slope.jump_db(slope) >= SLOPE_DB or scratched:
            if now - self._last_s > APART_S:
                self.latest = Strike(now - self._hop_s, self.loud_db, level)
            self._last_s = now
        self._levels.append(level)
        strike = self.latest
        if strike is not None and now - strike.time_s < APART_S and level > strike.loud_db:
            self.latest = Strike(strike.time_s, strike.before_db, level)

    def forget(self) -> None:
        """Samples were lost: the past is no measure any more."""
        self._slope.forget()
        self._scratch.forget()
        self._joined[:] = 0.0

    def _differences(self, block: Samples) -> tuple[Samples, Samples]:
        """First and second differences of the block, as long as it is: the two samples before belong to them."""
        joined = self._joined
        joined[:2] = joined[-2:]
        joined[2:] = block
        slope = joined[1:] - joined[:-1]
        return slope[1:], slope[1:] - slope[:-1]
