"""How each partial comes back in a window -> by how much later than before all of them do.

An output that ran dry comes back later, two devices with a clock each drift apart: then all partials turn, each by its
frequency times one and the same time. A string does not do that, so a window tells of it only if all partials agree.
"""

from __future__ import annotations

import numpy as np

from pedal.pitch.chord_fit import Complexes, Floats, Seen
from pedal.pitch.way_back import WayBack

NEAR_S, NEAR_STEP_S = 0.0004, 0.00002
FAR_S, FAR_STEP_S = 0.03, 0.00005
"""A drift, looked for at each window; a jump, if nothing is found near."""
ALIKE, ALIKE_FAR = 0.95, 0.9
"""Likeness to what was known, 0 to 1, from which a window tells of the time."""
SAME_JUMP_S = 0.0002
"""Two windows in a row must tell of the same jump."""
CLEAR_SHARE, FEWEST = 0.1, 5
"""Of its power, the variance of a line that tells of the time; and how many such lines it takes."""
TELLS_WITHIN_S = 3e-6
"""Standard deviation of what one window tells. A choice: hiss 20 dB under the leak gives a third of it."""
DRIFT_WANDERS = 1e-12
"""Variance a second of a drift (1 ppm in a second)."""
MOST_DRIFT = 2e-4
"""Clocks that differ by more are none (common quartz: 50 ppm)."""


class WayTime:
    """`.late(at_s)` is the time to add to the way back, `.look(seen, way, at_s)` learns it and turns what was seen."""

    def __init__(self, hz: Floats) -> None:
        self._hz = hz
        self._late_s = self._drift = self._at_s = 0.0
        self._spread = np.array([[TELLS_WITHIN_S**2, 0.0], [0.0, MOST_DRIFT**2]])
        self._jump_s: float | None = None

    def late(self, at_s: float) -> float:
        """Seconds by which all comes later than when it was first learned."""
        return self._late_s + self._drift * (at_s - self._at_s)

    def look(self, seen: Seen, way: WayBack, powers: Floats, at_s: float) -> Seen:
        """The window in the middle of which it is `at_s`, turned to the time that it tells of."""
        power = CLEAR_SHARE * np.abs(way.found[seen.lines]) ** 2
        known = way.doubts[seen.lines] < power
        if known.sum() < FEWEST:
            return seen
        sent = powers[seen.lines]
        found = way.found[seen.lines]
        shift_s, alike = self._likeliest(seen, found, np.where(known, sent, 0.0), (NEAR_S, NEAR_STEP_S))
        if alike > ALIKE:
            self._jump_s = None
            self._follow(shift_s, at_s)
        else:
            clear = known & (seen.doubts < power)
            shift_s, alike = self._likeliest(seen, found, np.where(clear, sent, 0.0), (FAR_S, FAR_STEP_S))
            again = self._jump_s is not None and abs(shift_s - self._jump_s) < SAME_JUMP_S
            if alike < ALIKE_FAR or not again:
                self._jump_s = shift_s if alike >= ALIKE_FAR else None
                return seen
            self._late_s, self._at_s, self._jump_s = self.late(at_s) + shift_s, at_s, None
        return Seen(seen.lines, seen.ways * np.exp(2j * np.pi * self._hz[seen.lines] * shift_s), seen.doubts)

    def _likeliest(
        self, seen: Seen, found: Complexes, powers: Floats, steps: tuple[float, float]
    ) -> tuple[float, float]:
        """By how much later lines that have a power come back, and how alike they are to what was known then, to 1."""
        which = powers > 0.0
        if which.sum() < FEWEST:
            return 0.0, 0.0
        here, there = np.sum(powers * np.abs(seen.ways) ** 2), np.sum(powers * np.abs(found) ** 2)
        like = powers * found.conj() * seen.ways
        shift_s, alike = _best(like[which], self._hz[seen.lines][which], *steps)
        return shift_s, alike / float(np.sqrt(here * there))

    def _follow(self, shift_s: float, at_s: float) -> None:
        """A step of a Kalman filter of lateness and drift."""
        gone_s = max(0.0, at_s - self._at_s)
        step = np.array([[1.0, gone_s], [0.0, 1.0]])
        spread = step @ self._spread @ step.T + np.diag([1e-14, DRIFT_WANDERS * gone_s])
        gain = spread[:, 0] / (spread[0, 0] + TELLS_WITHIN_S**2)
        self._late_s = self.late(at_s) + gain[0] * shift_s
        self._drift = float(np.clip(self._drift + gain[1] * shift_s, -MOST_DRIFT, MOST_DRIFT))
        self._spread = spread - np.outer(gain, spread[0])
        self._at_s = at_s


def _best(like: Complexes, hz: Floats, within_s: float, step_s: float) -> tuple[float, float]:
    """The time that turns all lines back best, and how alike they are then."""
    steps = np.arange(-round(within_s / step_s), round(within_s / step_s) + 1) * step_s
    likeness = (np.exp(2j * np.pi * np.outer(steps, hz)) @ like).real
    best = int(np.argmax(likeness))
    shift_s = float(steps[best])
    # Between steps: the lines' phases are small there, and their slope over frequency is the time.
    turned = like * np.exp(2j * np.pi * hz * shift_s)
    slope = float(np.sum(hz * turned.imag) / (np.sum(hz**2 * turned.real) + 1e-30)) / (2 * np.pi)
    return shift_s - float(np.clip(slope, -step_s, step_s)), float(likeness[best])
