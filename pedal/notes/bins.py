"""Readings of one note -> bins of pitch, each with the weight that it carries."""

from __future__ import annotations

import math
from collections import deque

from pedal.notes.decoder import BIN_S, JUMP_BINS
from pedal.pitch.reading import Reading

OWN_CENTS = 1.0
"""Deviation (1 sigma) of a bin of a steady note from its line: the ear's own."""
PICK_CENTS, PICK_S = 16.0, 0.010
PLUCK_CENTS, PLUCK_S = 3.0, 0.060
JITTER_SHARE = 3.0
DOUBT_CENTS = 400.0
"""How far off a reading of no confidence lies just after the pluck (1 sigma): a box that thumps, a string hit hard."""


def _variances(since_s: float) -> tuple[float, float]:
    """Squared cents by which a bin so long after the pluck is off, and by which it is so for its squared doubt."""
    pick, pluck = PICK_CENTS * math.exp(-since_s / PICK_S), PLUCK_CENTS * math.exp(-since_s / PLUCK_S)
    doubt = DOUBT_CENTS * math.exp(-since_s / (2 * PICK_S))  # half as fast as the pick's own noise
    return OWN_CENTS**2 + pick * pick + pluck * pluck, doubt**2


_VARIANCES = tuple(_variances(bin_ * BIN_S) for bin_ in range(round(12 * PLUCK_S / BIN_S)))
"""Later, nothing is left of the pluck."""


class Bins:
    """`.hear(reading)` gives the bins (cents above `base_hz`, weight) that this reading completes, oldest first."""

    def __init__(self, onset_s: float) -> None:
        self._onset_s = onset_s
        self.first = 0
        self.base_hz = 0.0
        self._bin = -1
        self._sum, self._count, self._doubt = 0.0, 0, 0.0
        self._recent: deque[float] = deque(maxlen=3)
        self._jitter: deque[float] = deque(maxlen=JUMP_BINS)

    def number(self, time_s: float) -> int:
        """The bin of a moment, counted from the first that was heard."""
        return int((time_s - self._onset_s) / BIN_S) - self.first

    def time_s(self, number: float) -> float:
        """Seconds since the first sample at which a bin begins."""
        return self._onset_s + (number + self.first) * BIN_S

    def hear(self, reading: Reading) -> list[tuple[float, float]]:
        """One more reading; cents and weight of each bin that it completed."""
        if reading.hz <= 0.0:
            return []
        if self._bin < 0:
            self.base_hz = reading.hz
            self.first = int(max(0.0, reading.time_s - self._onset_s) / BIN_S)
            self._bin = 0
        done: list[tuple[float, float]] = []
        number = self.number(reading.time_s)
        if number > self._bin:
            done = self.flush()
            done += [(0.0, 0.0)] * (number - self._bin - 1)
            self._bin = number
        self._sum += 1200.0 * math.log2(reading.hz / self.base_hz)
        self._count += 1
        self._doubt += 1.0 - reading.confidence
        return done

    def flush(self) -> list[tuple[float, float]]:
        """The bin that is still open."""
        if not self._count:
            return [(0.0, 0.0)]
        cents = self._sum / self._count
        weight = self._weight(cents, self._doubt / self._count)
        self._sum, self._count, self._doubt = 0.0, 0, 0.0
        return [(cents, weight)]

    def _weight(self, cents: float, doubt: float) -> float:
        """`doubt`: by how much the mean confidence falls short of 1."""
        self._recent.append(cents)
        if len(self._recent) == 3:
            a, b, c = self._recent
            self._jitter.append(abs(b - 0.5 * (a + c)))
        jitter = sorted(self._jitter)[len(self._jitter) // 2] if self._jitter else 0.0
        since = self._bin + self.first
        own, doubtful = _VARIANCES[since if since < len(_VARIANCES) else -1]
        return 1.0 / (own + doubtful * doubt * doubt + (JITTER_SHARE * jitter) ** 2)
