"""What windows of known chords told -> by how much weaker and later each of their partials comes back.

A way back (from speaker to string, from output to input) stays what it is, so what is told adds up, each by its doubt.
A string that stands on a partial cannot pass for it: a leak reaches all partials about alike, a string its own.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.leak.chord_fit import Complexes, Seen
from pedal.leak.drone_leak import CLEAR_SHARE, FEWEST_STRETCHES
from pedal.theory.voice import Floats

UNKNOWN = 100.0
"""Variance of what nothing is known of: whoever lets out 20 dB more than goes in has other worries."""
DRIFTS = 3e-5
"""Of a way's power, its variance a window: after minutes the newest counts most."""
FAR_OFF = 9.0
"""Variances: what is told further off is a string, or the way has changed."""
MOST_ABOVE = 3.0
"""No partial comes back so much stronger than most do."""
CHANGED_SHARE = 0.5
"""The way is another one if half of what should be known is far off in `FEWEST_STRETCHES` windows that agree."""


class WayBack:
    """`.learn(seen, powers)` takes a window in; `.ways` is what to take off, complex, shape (lines,)."""

    def __init__(self, lines: int) -> None:
        self.found = np.zeros(lines, np.complex128)
        self.doubts = np.full(lines, UNKNOWN)
        self.ways: Complexes = np.zeros(lines, np.complex128)
        self.level = 0.0
        """How strongly most comes back, as amplitude; 0 while nothing is known."""
        self.lost = False
        """Whether the last window said that the way is another one."""
        self._off: Seen | None = None
        self._times_off = 0

    def learn(self, seen: Seen, powers: Floats) -> None:
        """Take a window in; `powers` are those of all lines as sent, shape (lines,)."""
        lines = seen.lines
        self.lost = self._has_changed(seen, powers[lines])
        if self.lost:
            self.doubts[:] = np.maximum(self.doubts, self.level**2 + np.abs(self.found) ** 2)
            self.found[:] = 0.0
        doubts = self.doubts[lines] + DRIFTS * np.abs(self.found[lines]) ** 2
        off = seen.ways - self.found[lines]
        told = seen.doubts + 1e-12
        far = np.abs(off) ** 2 > FAR_OFF * (doubts + told)
        told = np.where(far, told + np.abs(off) ** 2, told)
        gain = doubts / (doubts + told)
        self.found[lines] += gain * off
        self.doubts[lines] = (1.0 - gain) * doubts
        self._settle()

    def _has_changed(self, seen: Seen, powers: Floats) -> bool:
        """Whether what should be known well is elsewhere, in several windows alike."""
        known = self.doubts[seen.lines] < CLEAR_SHARE * np.abs(self.found[seen.lines]) ** 2
        off = np.abs(seen.ways - self.found[seen.lines]) ** 2
        clear = known & (seen.doubts < CLEAR_SHARE * self.level**2)
        elsewhere = clear & (off > CLEAR_SHARE * np.abs(self.found[seen.lines]) ** 2)
        if not clear.any() or powers[elsewhere].sum() < CHANGED_SHARE * powers[clear].sum():
            self._off, self._times_off = None, 0
            return False
        before, self._off = self._off, seen
        alike = before is not None and len(before.lines) == len(seen.lines)
        if alike and before is not None:
            moved = np.abs(seen.ways - before.ways) ** 2 > CLEAR_SHARE * np.abs(seen.ways) ** 2
            alike = powers[elsewhere & moved].sum() < CHANGED_SHARE * powers[elsewhere].sum()
        self._times_off = self._times_off + 1 if alike else 1
        return self._times_off >= FEWEST_STRETCHES

    def _settle(self) -> None:
        """What is taken off: what is found, as far as it is known, and no more than a leak would be."""
        strength = np.abs(self.found)
        told = np.flatnonzero(self.doubts < 0.5 * UNKNOWN)
        if not len(told):
            return
        order = told[np.argsort(strength[told])]
        self.level = float(strength[order][np.searchsorted(np.arange(1, len(order) + 1) / len(order), 0.5)])
        most = MOST_ABOVE * self.level
        fair = np.minimum(1.0, most / (strength + 1e-12))
        self.ways = self.found * fair * strength**2 / (strength**2 + self.doubts + 1e-15)

    def turn(self, gain: float) -> None:
        """What is played is so many times as loud from now on."""
        self.found, self.ways, self.level = gain * self.found, gain * self.ways, gain * self.level
        self.doubts = np.minimum(UNKNOWN, gain**2 * self.doubts)

    def unknown(self, lines: NDArray[np.intp], powers: Floats) -> float:
        """The share of a chord's power of which it is not known how it comes back."""
        share = self.doubts[lines] / (self.doubts[lines] + self.level**2 + 1e-15)
        return float(np.sum(powers[lines] * share) / np.sum(powers[lines]))
