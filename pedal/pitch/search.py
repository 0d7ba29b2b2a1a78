"""A sound without a pitch yet -> the pitch of its first periods."""

from __future__ import annotations

from pedal.pitch.band import Sound
from pedal.pitch.correlation import SHORTEST_LAG, Correlation
from pedal.pitch.lag import find_period
from pedal.pitch.octave import CUTOFF_HZ, LOW_CUTOFF_HZ, LOW_HZ, NEAR, SPECTRUM, Octave
from pedal.pitch.partial_filter import FEWEST_PERIODS

LOWEST_HZ, HIGHEST_HZ = 58.0, 1700.0
TEMPLATE_SHARE = 0.36
"""Of what was heard since the pluck; the rest is where the template is looked for: first answers after 1.6 periods."""
OVER_PERIOD_S = 0.0117
"""What is looked at is the longest period, and so much more: 29 ms in all."""
CLEAR_AT_ONCE, CLEAR, CLEAR_AT_LAST = 0.96, 0.8, 0.6
"""Likeness that convinces alone, when the tick before found the same period, and when `PATIENCE` ticks did."""
PATIENCE = 5
NEW_SHARE = 0.15
"""Of what was heard: shorter periods were within reach a tick ago, and must have been found then as well."""
SURE_TEMPLATE_S, CLEAR_EARLY = 0.0033, 0.92
"""In a shorter template any narrow band of pick noise repeats itself by chance: it must do so very clearly."""
SAME_PERIOD = 0.03
MOST_DOUBT = 0.5
"""A pitch that leaves more of the sound unexplained is none yet."""
MAINS_HZ = (50.0, 60.0, 100.0, 120.0, 150.0, 180.0)
"""What the mains hum at: rectifiers twice as high, iron that saturates at three times."""


class Sight:
    """The period that stands out in one band of the sound, and for how many ticks it has."""

    def __init__(self, longest: int, rate_hz: float, cutoff_hz: float) -> None:
        self._rate = rate_hz
        self._correlation = Correlation(longest, rate_hz, cutoff_hz)
        self._last = 0.0
        self._agreed = 0
        self.clarity = 0.0

    def look(self, sound: Sound, template: int, shortest: int, longest: int) -> float:
        """The pitch in hertz, 0.0 if none is convincing; `clarity` is its likeness."""
        nsdf = self._correlation.nsdf(sound, template, shortest, longest)
        lag, self.clarity = find_period(nsdf, shortest)
        if lag == 0.0 or self.clarity < CLEAR_AT_LAST:
            self._last = self._rate / lag if lag else 0.0
            self._agreed = 0
            return 0.0
        hz = self._rate / lag
        self._agreed = self._agreed + 1 if abs(hz - self._last) < SAME_PERIOD * hz else 0
        self._last = hz
        return hz if self.clarity > self._convincing(template, lag / (longest + template)) else 0.0

    def _convincing(self, template: int, share: float) -> float:
        if self._agreed == 0:  # a short period that was not there a tick ago is a chance of the pick's noise
            return CLEAR_AT_ONCE if share > NEW_SHARE else 1.0
        if template < SURE_TEMPLATE_S * self._rate:
            return CLEAR_EARLY
        return CLEAR if self._agreed < PATIENCE else CLEAR_AT_LAST


class Search:
    """Looks for a period in what was heard since the pluck, a tick after the other."""

    def __init__(self, rate_hz: float) -> None:
        self._rate = rate_hz
        self._shortest, self._longest = max(SHORTEST_LAG, int(rate_hz / HIGHEST_HZ)), int(rate_hz / LOWEST_HZ)
        self.whole = self._longest + int(OVER_PERIOD_S * rate_hz)
        self._broad = Sight(self.whole, rate_hz, CUTOFF_HZ)
        self._low = Sight(self.whole, rate_hz, LOW_CUTOFF_HZ)
        self._octave = Octave(rate_hz)
        self.clarity = 0.0

    def look(self, sound: Sound, since_struck: int, *, struck: bool) -> float:
        """The pitch in hertz, 0.0 if none is clear; `clarity` is its likeness."""
        elapsed = min(since_struck, self.whole)
        template = int(TEMPLATE_SHARE * elapsed)
        longest = min(self._longest, elapsed - template)
        if longest < 4 * self._shortest:  # in one tick any noise repeats itself
            return 0.0
        hz = self._of(self._broad, sound, since_struck, template, longest)
        if hz == 0.0 and struck and longest > self._rate / LOW_HZ:  # a low string may have gone round by now, or hum
            hz = self._of(self._low, sound, since_struck, template, longest)
            if hz * since_struck < FEWEST_PERIODS * self._rate:  # the first round is bent by the pick: 27 cents on E2
                return 0.0
        return hz

    def _of(self, sight: Sight, sound: Sound, since_struck: int, template: int, longest: int) -> float:
        hz = sight.look(sound, template, self._shortest, longest)
        if hz == 0.0 or (sight.clarity < CLEAR and since_struck < SPECTRUM):
            return 0.0
        hz, doubt = self._octave.best(sound, hz, since_struck)
        self.clarity = sight.clarity
        return hz if doubt < MOST_DOUBT else 0.0


def is_hum(hz: float) -> bool:
    """Whether this is the pitch of mains hum (50 or 60 Hz or a low harmonic)."""
    return any(abs(hz - mains_hz) < NEAR * hz for mains_hz in MAINS_HZ)
