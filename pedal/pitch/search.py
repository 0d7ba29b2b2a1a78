"""A sound without a pitch yet -> the pitch of its first periods."""

from __future__ import annotations

from collections.abc import Callable

from pedal.pitch.correlation import Correlation
from pedal.pitch.intake import Samples
from pedal.pitch.lag import find_period
from pedal.pitch.octave import Octave

LOWEST_HZ, HIGHEST_HZ = 58.0, 1700.0
TEMPLATE_SHARE = 0.36
"""Of what was heard since the pluck; the rest is where the template is looked for: first answers after 1.6 periods."""
LONGEST_TEMPLATE_S, SHORTEST_TEMPLATE_S = 0.0117, 0.0015
CLEAR_AT_ONCE, CLEAR, CLEAR_AT_LAST = 0.96, 0.8, 0.6
"""Likeness that convinces alone, when the tick before found the same period, and when `PATIENCE` ticks did."""
PATIENCE = 5
NEW_SHARE = 0.15
"""Of what was heard: shorter periods were within reach a tick ago, and must have been found then as well."""
SURE_TEMPLATE_S, CLEAR_EARLY = 0.0033, 0.92
"""In a shorter template any narrow band of pick noise repeats itself by chance: it must do so very clearly."""
SAME_PERIOD = 0.03
MAINS_HZ = (50.0, 60.0)
MAINS_WITHIN = 0.012
MAINS_HARMONICS = 3


class Search:
    """Looks for a period in what was heard since the pluck, a tick after the other."""

    def __init__(self, rate_hz: float) -> None:
        self._rate = rate_hz
        self._shortest, self._longest = max(6, int(rate_hz / HIGHEST_HZ)), int(rate_hz / LOWEST_HZ)
        self._longest_template = int(LONGEST_TEMPLATE_S * rate_hz)
        self._shortest_template = int(SHORTEST_TEMPLATE_S * rate_hz)
        self._sure_template = int(SURE_TEMPLATE_S * rate_hz)
        self.whole = self._longest + self._longest_template
        self._correlation = Correlation(self.whole, rate_hz)
        self._octave = Octave(rate_hz)
        self._last = 0.0
        self._agreed = 0
        self.clarity = 0.0

    def look(self, newest: Callable[[int], Samples], since_struck: int) -> float:
        """The pitch in hertz, 0.0 if none is clear; `clarity` is its likeness."""
        elapsed = min(since_struck, self.whole)
        template = min(int(TEMPLATE_SHARE * elapsed), self._longest_template)
        longest = min(self._longest, elapsed - template)
        if template < self._shortest_template or longest < 2 * self._shortest:
            return 0.0
        history = newest(longest + template + self._correlation.margin)
        likeness = self._correlation.likeness(history, template, self._shortest, longest)
        lag, self.clarity = find_period(likeness, self._shortest)
        if lag == 0.0 or self.clarity < CLEAR_AT_LAST:
            self._last = self._rate / lag if lag else 0.0
            self._agreed = 0
            return 0.0
        hz = self._octave.corrected(newest, self._rate / lag, elapsed)
        self._agreed = self._agreed + 1 if abs(hz - self._last) < SAME_PERIOD * hz else 0
        self._last = hz
        return hz if self.clarity > self._convincing(template, lag / elapsed) else 0.0

    def _convincing(self, template: int, share: float) -> float:
        if self._agreed == 0:  # a short period that was not there a tick ago is a chance of the pick's noise
            return CLEAR_AT_ONCE if share > NEW_SHARE else 1.0
        if template < self._sure_template:
            return CLEAR_EARLY
        return CLEAR if self._agreed < PATIENCE else CLEAR_AT_LAST


def is_hum(hz: float) -> bool:
    """Whether this is the pitch of mains hum (50 or 60 Hz or a low harmonic)."""
    return any(
        abs(hz - harmonic * mains) < MAINS_WITHIN * hz
        for mains in MAINS_HZ
        for harmonic in range(1, MAINS_HARMONICS + 1)
    )
