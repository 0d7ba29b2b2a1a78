"""A tick and the period before it -> how alike they are, and how much is new."""

from __future__ import annotations

from collections.abc import Callable

from pedal.pitch.correlation import ReadBack
from pedal.pitch.gate import FORGETS
from pedal.pitch.intake import Samples
from pedal.pitch.onset import SILENT_POWER, Jump, novelty_db

PERIODS_REMEMBERED = 1.5
HUM_DIFFERS = 4.0
"""Power by which hum of power 1 may differ from itself a period of the note before: it may stand against it."""


class Repeat:
    """Running likeness of a note to itself one period before, a tick of `count` samples after the other."""

    def __init__(self, rate_hz: float, count: int) -> None:
        self._rate, self._count = rate_hz, count
        self._past = ReadBack(count)
        self._both = self._each = 0.0
        self._news = Jump(FORGETS)
        self.nsdf = 0.0

    def start(self, nsdf: float, power: float) -> None:
        """A note just found to repeat itself this well."""
        self._each = 2.0 * power
        self._both = nsdf * self._each
        self.nsdf = nsdf

    def hear(
        self, before: Callable[[int, int], Samples], hz: float, *, energy: float, floor: float, loudest: float
    ) -> float:
        """attack_db of one more tick of that energy; `nsdf` is kept up to date."""
        period, count = self._rate / hz, self._count
        past = self._past.read(before, period)
        both, old = float(before(0, count).dot(past)), float(past.dot(past))
        share = count / (PERIODS_REMEMBERED * period)
        share = share if share < 0.4 else 0.4
        self._both += share * (2.0 * both / count - self._both)
        self._each += share * ((old + energy) / count - self._each)
        nsdf = self._both / (self._each + 1e-15)
        self.nsdf = nsdf if nsdf > 0.0 else 0.0
        gain = both / (old + 1e-15)
        gain = 0.0 if gain < 0.0 else 1.0 if gain > 1.0 else gain
        fresh = (energy - 2.0 * gain * both + gain * gain * old) / count - HUM_DIFFERS * floor
        if fresh <= 0.0:
            self._news.hear(0.0, SILENT_POWER)
            return 0.0
        return novelty_db(self._news.hear(fresh, SILENT_POWER), fresh, loudest)
