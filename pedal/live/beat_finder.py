"""The output's beats, on the loop's clock -> the same on the axis of the readings.

The sample that is newest when a block is taken in lies so much before or after the clock; taken in late, it seems older
than it is. So the least late of the last seconds counts. What drivers hide between string and reading, or between
sample and speaker, is the pedal's to add: it hears it by its clicks, or is told by `time.delay_ms`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from pedal.modes.memory import DELAY_MOST_MS, HEARD_LEAST_MS
from pedal.theory.pulse import Grid, Pulse
from pedal.values import frozen

LOOK_BACK_S = 4.0
HEARD_ALIKE_MS = 2.5
"""A delay that is heard to differ by less is the same."""
MOVED_S = 0.002
"""A grid that moves by less is the same: half of what is told of an arrival is its rounding."""


@frozen
class Moved:
    """Where the pulse lies now; `zero_s` None: not known."""

    zero_s: float | None
    beat_s: float

    @property
    def grid(self) -> Grid | None:
        """Times of beats by number, None while nothing is known of them."""
        return None if self.zero_s is None else Grid(self.zero_s, self.beat_s)


def delay_heard_ms(taken_off_ms: float, late_s: float, *, known: bool) -> float | None:
    """The delay that drivers hide, by clicks that came `late_s` after they were due; None: nothing new, or no delay.

    taken_off_ms : what was taken off as their delay already; `known`: it had been heard.
    """
    heard_ms = taken_off_ms + 1000 * late_s
    news = not known or abs(heard_ms - taken_off_ms) > HEARD_ALIKE_MS
    return heard_ms if news and HEARD_LEAST_MS <= heard_ms <= DELAY_MOST_MS else None


class BeatFinder:
    """`.heard(heard_s)` when samples were taken in; `.moved(pulse)` says where the beat lies if that changed.

    beat_zero_s : when the first beat sounds, on `clock`.
    """

    def __init__(self, beat_zero_s: Callable[[], float | None], clock: Callable[[], float]) -> None:
        self._beat_zero_s, self._clock = beat_zero_s, clock
        self._shifts: deque[tuple[float, float]] = deque()
        self._told: Moved = Moved(None, 0.0)

    def heard(self, heard_s: float) -> None:
        """Samples up to `heard_s` have just been taken in."""
        now_s = self._clock()
        shift_s = heard_s - now_s
        while self._shifts and self._shifts[-1][1] <= shift_s:
            self._shifts.pop()
        self._shifts.append((now_s, shift_s))
        while self._shifts[0][0] < now_s - LOOK_BACK_S:
            self._shifts.popleft()

    @property
    def told_s(self) -> float | None:
        """Where the first beat lies, as last told."""
        return self._told.zero_s

    def moved(self, pulse: Pulse | None) -> Moved | None:
        """Where the beat lies, if that is news; None else."""
        told, zero_s = self._told, None if pulse is None or not self._shifts else self._beat_zero_s()
        if zero_s is None and told.zero_s is None:
            return None
        now = Moved(None if zero_s is None else zero_s + self._shifts[0][1], pulse.beat_s if pulse else 0.0)
        known = now.zero_s is not None and told.zero_s is not None and now.beat_s == told.beat_s
        if known and abs((now.zero_s or 0.0) - (told.zero_s or 0.0)) < MOVED_S:
            return None
        self._told = now
        return now
