"""A tick and the period before it -> how alike they are, and how much is new."""

from __future__ import annotations

from collections.abc import Callable

from pedal.pitch.intake import Samples
from pedal.pitch.onset import SILENT_POWER, Jump, novelty_db

PERIODS_REMEMBERED = 1.5
MOST_PERIODS = 3
WORTH_A_PERIOD = 0.02
"""A lag of one more period must come this much nearer to whole samples to be preferred."""


class Repeat:
    """Running likeness of a note to itself one period (or two, or three) before."""

    def __init__(self, rate_hz: float) -> None:
        self._rate = rate_hz
        self._both = self._each = 0.0
        self._news = Jump()
        self.likeness = 0.0

    def start(self, likeness: float, power: float) -> None:
        """A note just found to repeat itself this well."""
        self._each = 2.0 * power
        self._both = likeness * self._each
        self.likeness = likeness

    def hear(
        self, newest: Callable[[int], Samples], count: int, hz: float, *, energy: float, floor: float, loudest: float
    ) -> float:
        """attack_db of one more tick of `count` samples of that energy; `likeness` is kept up to date."""
        period = self._rate / hz
        lag = self._nearest_whole(period)
        history = newest(lag + count)
        past = history[:count]
        both, old = float(history[lag:].dot(past)), float(past.dot(past))
        share = min(0.4, count / (PERIODS_REMEMBERED * period))
        self._both += share * (2.0 * both / count - self._both)
        self._each += share * ((old + energy) / count - self._each)
        self.likeness = max(0.0, self._both / (self._each + 1e-15))
        gain = min(1.0, max(0.0, both / (old + 1e-15)))
        fresh = max(0.0, (energy - 2.0 * gain * both + gain * gain * old) / count - 2.0 * floor)
        return novelty_db(self._news.hear(fresh, SILENT_POWER), fresh, loudest)

    @staticmethod
    def _nearest_whole(period: float) -> int:
        """Of the first multiples of the period the one that is most nearly a whole number of samples."""
        lag, best = 0, 1.0
        for times in range(1, MOST_PERIODS + 1):
            exact = period * times
            whole = round(exact)
            off = abs(exact - whole) / period
            if off < best - WORTH_A_PERIOD:
                lag, best = whole, off
        return lag
