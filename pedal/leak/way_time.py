"""How each partial comes back in a window -> by how much later than before all of them do.

An output that ran dry comes back later, two devices with a clock each drift apart: then all partials turn, each by its
frequency times one and the same time. A string does not do that, so a window tells of it only if all partials agree.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from pedal.leak.chord_fit import Complexes, Seen
from pedal.leak.drone_leak import CLEAR_SHARE
from pedal.leak.way_back import WayBack
from pedal.theory.voice import HIGHEST_HZ, Floats

FAR_S = 0.03
"""How far a jump is looked for, if no drift explains a window. A grid that moves by more than half of it is another
one, because the output ran dry; by less, it is told no better than that."""
ALIKE = 0.9
"""Likeness to what was known, 0 to 1, from which a window tells of the time."""
FEWEST = 5
"""So many clear lines it takes to tell of the time."""
TELLS_WITHIN_S, TELLS_UNLIKE_S = 3e-6, 1e-4
"""Standard deviation of what one window tells: where all lines agree, and what is added by how far they do not."""
DRIFT_WANDERS = 1e-12
"""Variance a second of a drift (1 ppm in a second)."""
MOST_DRIFT = 2e-4
"""Clocks that differ by more are none (common quartz: 50 ppm)."""
NEAR_S = 2.0 * MOST_DRIFT
"""A drift of two seconds, looked for at each window. Two windows that are near tell of one jump."""


class WayTime:
    """`.late(at_s)` is by how much later all comes than at first, `.look(see, way, powers, at_s)` learns it."""

    def __init__(self, hz: Floats) -> None:
        self._hz = hz
        self._late_s = self._drift = self._at_s = 0.0
        self._spread = np.array([[TELLS_WITHIN_S**2, 0.0], [0.0, MOST_DRIFT**2]])
        self._jumped_to_s: float | None = None
        self._told_s = 0.0

    def late(self, at_s: float) -> float:
        """Seconds by which all comes later than when it was first learned."""
        return self._late_s + self._drift * (at_s - self._at_s)

    def tell(self, late_s: float) -> None:
        """The grid says that all comes so much later than at first; grids err, so the sound must say so too."""
        self._told_s = late_s

    def look(self, see: Callable[[float], Seen], way: WayBack, powers: Floats, at_s: float) -> Seen:
        """What a window tells, in the middle of which it is `at_s`, seen at the time that it tells of.

        see : gives what it tells if all comes so much later.
        """
        late_s = self.late(at_s)
        seen = see(late_s)
        # A string hides lines, and those of one note are alike again after each of its periods: near comes first.
        for clear in (True, False):
            shift_s, alike = self._likeliest(seen, way, powers, NEAR_S, clear=clear)
            if alike > ALIKE:
                self._jumped_to_s = None
                self.follow(shift_s, at_s, alike)
                return see(self.late(at_s))
        shift_s, alike = self._likeliest(seen, way, powers, FAR_S, clear=True)
        to_s = late_s + shift_s
        if alike < ALIKE and abs(self._told_s - late_s) > FAR_S / 2:
            shift_s, alike = self._likeliest(see(self._told_s), way, powers, FAR_S, clear=True)
            to_s = self._told_s + shift_s
        again = self._jumped_to_s is not None and abs(to_s - self._jumped_to_s) < NEAR_S
        self._jumped_to_s = to_s if alike >= ALIKE else None
        if self._jumped_to_s is None or not again:
            return seen
        self._late_s, self._at_s, self._jumped_to_s = to_s, at_s, None
        return see(to_s)

    def _likeliest(
        self, seen: Seen, way: WayBack, powers: Floats, within_s: float, *, clear: bool
    ) -> tuple[float, float]:
        """By how much later what is known comes back, and how alike it is to what was known then, -1 to 1.

        clear : look only at lines on which nothing else sounds.
        """
        lines = seen.lines
        power = CLEAR_SHARE * np.abs(way.found[lines]) ** 2
        which = way.doubts[lines] < power
        if clear:
            which &= seen.doubts < power
        if which.sum() < FEWEST:
            return 0.0, -math.inf
        sent, found, ways = powers[lines][which], way.found[lines][which], seen.ways[which]
        here, there = np.sum(sent * np.abs(ways) ** 2), np.sum(sent * np.abs(found) ** 2)
        shift_s, alike = _best(sent * found.conj() * ways, self._hz[lines][which], within_s)
        return shift_s, alike / float(np.sqrt(here * there))

    def follow(self, shift_s: float, at_s: float, alike: float) -> None:
        """Something at `at_s` came so much later still, and was so much like what was known, 0 to 1.

        A step of a Kalman filter of lateness and drift.
        """
        gone_s = max(0.0, at_s - self._at_s)
        step = np.array([[1.0, gone_s], [0.0, 1.0]])
        spread = step @ self._spread @ step.T + np.diag([1e-14, DRIFT_WANDERS * gone_s])
        gain = spread[:, 0] / (spread[0, 0] + TELLS_WITHIN_S**2 + max(0.0, 1.0 - alike**2) * TELLS_UNLIKE_S**2)
        self._late_s = self.late(at_s) + gain[0] * shift_s
        self._drift = float(np.clip(self._drift + gain[1] * shift_s, -MOST_DRIFT, MOST_DRIFT))
        self._spread = spread - np.outer(gain, spread[0])
        self._at_s = at_s


def _best(like: Complexes, hz: Floats, within_s: float) -> tuple[float, float]:
    """The time that turns all lines back best, and how alike they are then."""
    step_s = 0.2 / HIGHEST_HZ  # a fifth of a turn of the highest partial
    steps = np.arange(-round(within_s / step_s), round(within_s / step_s) + 1) * step_s
    likeness = (np.exp(2j * np.pi * np.outer(steps, hz)) @ like).real
    best = int(np.argmax(likeness))
    shift_s = float(steps[best])
    # Between steps: the lines' phases are small there, and their slope over frequency is the time.
    turned = like * np.exp(2j * np.pi * hz * shift_s)
    slope = float(np.sum(hz * turned.imag) / (np.sum(hz**2 * turned.real) + 1e-30)) / (2 * np.pi)
    return shift_s - float(np.clip(slope, -step_s, step_s)), float(likeness[best])
