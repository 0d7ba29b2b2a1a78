"""A pitch -> the same, or the one an octave or a twelfth off that it really is: decided once in a note.

A sound that repeats itself after P does so after 2 P and 3 P as well, and nearly so after P / 2 if its odd partials are
weak. So the candidates are weighed against each other by what each leaves unexplained: `doubt`, the share of the power
by which the sound differs from itself one period before. The log odds of a candidate are those of its doubt, less
`PRICE` for each octave by which its period is longer, because a longer period has more freedom to fit: the penalty of
J. D. Wise, J. R. Caprio and T. W. Parks, "Maximum likelihood pitch estimation", IEEE Trans. ASSP 24, 1976
(from memory).
"""

from __future__ import annotations

import math

import numpy as np

from pedal.pitch.band import Band, Sound
from pedal.pitch.correlation import SHORTEST_LAG, alike, alike_near
from pedal.pitch.gate import REST_TICKS
from pedal.pitch.intake import Samples
from pedal.pitch.lag import parabola
from pedal.pitch.partial_filter import HIGHEST_HZ, LOWEST_HZ, NYQUIST_SHARE

LADDER = (1.0, 2.0, 0.5, 3.0, 1.0 / 3.0)
"""A pitch found by its period, by what the true one may be a multiple of it."""
PRICE = 1.4
"""Log odds for an octave: a period twice as long must leave a quarter as much unexplained."""
EMPTY = 0.1
"""A shorter period must leave no more than this unexplained that the longer one explains: partials that are there."""
LEAST_DOUBT = 1e-3
"""-30 dB: decay, motion and stiffness leave as much of the clearest note unexplained."""
WINDOW_S = 0.02
"""The longest period, 19 ms at 52 Hz, and no more than that."""
SLACK = 0.04
"""Two thirds of a semitone: how far a period found in a pick's noise may be off; nearer it is the same."""
SPECTRUM = 640
"""Samples, 53 ms: Hann's lobes then tell lines 40 Hz apart."""
NEAR, EMPTY_COMB, MOST_ORDER = 0.012, 0.03, 12
"""Partials lie within 20 cents of their multiple; less than so much of the power is nobody's partial."""
COMB_LOOKS = 3
LOW_HZ = 200.0
"""Below it the pick's noise and the body's thump are filtered out: a low string is told by its first partials."""
LOW_CUTOFF_HZ, CUTOFF_HZ, BROAD_CUTOFF_HZ = 500.0, 1500.0, 3000.0
LOOK_TICKS = 4
"""11 ms: so often what hardly changes in a held note is looked at, here and in the weights of its partials."""
MOST_ODDS = 1.0
"""No look counts for more; another candidate must be ahead by more than this, so by two looks at least."""


_HANN = np.hanning(SPECTRUM).astype(np.float32)


class Octave:
    """The standing of one note's candidates."""

    def __init__(self, rate_hz: float) -> None:
        self._rate = rate_hz
        self._highest_hz = min(HIGHEST_HZ, rate_hz / SHORTEST_LAG)
        self._highest_partial_hz = NYQUIST_SHARE * rate_hz
        longest = int(WINDOW_S * rate_hz) + int((1.0 + SLACK) * rate_hz / LOWEST_HZ) + 2 * SHORTEST_LAG
        self._low, self._broad = Band(LOW_CUTOFF_HZ, rate_hz, longest), Band(BROAD_CUTOFF_HZ, rate_hz, longest)
        self.start()

    def start(self) -> None:
        """Another note, or the same in another octave."""
        self._odds = [0.0] * len(LADDER)
        self._ticks = 0
        self.decided = False
        """Whether the note is older than any doubt."""

    def doubts(self, sound: Sound, hz: float, since_struck: int) -> list[float]:
        """One a candidate, in the band of `hz`.

        0 where the sound repeats itself after the candidate's period, 1 where it has nothing to do with it.
        """
        newest = self._band(sound, min(int(WINDOW_S * self._rate), since_struck), hz)
        energy = float(newest.dot(newest))
        doubts: list[float] = []
        for times in LADDER:
            if not LOWEST_HZ < hz * times < self._highest_hz:
                doubts.append(1.0)
                continue
            lag = self._rate / (hz * times)
            history = self._band(sound, len(newest) + int(lag) + 2 * SHORTEST_LAG, hz)
            doubt = 1.0 - alike(history, lag, newest, energy)
            doubts.append(doubt if doubt < 1.0 else 1.0)
        return doubts

    def nearest(self, sound: Sound, hz: float, since_struck: int, *, of_hz: float) -> tuple[float, float]:
        """The pitch within `SLACK` of `hz` whose doubt is least, and that doubt."""
        if not LOWEST_HZ < hz < self._highest_hz:
            return hz, 1.0
        window = min(int(WINDOW_S * self._rate), since_struck)
        lag = self._rate / hz
        slack = 1 + int(SLACK * lag)
        shortest, longest = int(lag) - slack, int(lag) + 1 + slack
        nsdf = alike_near(self._band(sound, window + longest, of_hz), shortest, longest, window)
        at = 1 + int(nsdf[1:-1].argmax())
        if not nsdf[at - 1] <= nsdf[at] >= nsdf[at + 1]:  # a slope: what it leads to is another pitch
            return hz, 1.0
        finest, height = parabola(nsdf, at)
        return self._rate / (shortest + finest), min(1.0, 1.0 - height)

    def _band(self, sound: Sound, count: int, of_hz: float) -> Samples:
        band = self._low if of_hz < LOW_HZ else self._broad
        return band.newest(sound, count)

    def best(self, sound: Sound, hz: float, since_struck: int) -> tuple[float, float]:
        """The likeliest of the candidates around `hz` that was found by its period alone, and its doubt."""
        for _ in LADDER:
            found = [self.nearest(sound, hz * times, since_struck, of_hz=hz) for times in LADDER]
            own = found[0][1]
            odds = [_log_odds(doubt, times, own) for (_, doubt), times in zip(found, LADDER, strict=True)]
            at = odds.index(max(odds))
            if at == 0:
                break
            hz = found[at][0]
        times = self._borrows(sound, hz, since_struck)
        return self.nearest(sound, hz * times, since_struck, of_hz=hz) if times > 1 else (hz, found[at][1])

    def _borrows(self, sound: Sound, hz: float, since_struck: int, speed: float = 0.0) -> int:
        """2 or 3 if all partials of `hz` belong to a pitch so many times higher, else 1; 1 if it is too early to tell.

        Two sounds that have nothing in common nearly repeat themselves after some long period: its partials are empty.
        Those of a pitch that moves at `speed` cents a second are looked for as far off as they moved to either side of
        the middle, and only up to the one whose neighbour would be mistaken for it: a fast bend has empty places, too.
        """
        if since_struck < SPECTRUM:
            return 1
        spectrum = np.abs(np.fft.rfft(sound.newest(SPECTRUM) * _HANN, 2 * SPECTRUM)) ** 2
        bins = 2 * SPECTRUM / self._rate
        near = NEAR + abs(speed) * math.log(2.0) / 1200.0 * 0.5 * SPECTRUM / self._rate
        power = []
        for order in range(1, 1 + min(MOST_ORDER, int(0.5 / near), int(self._highest_partial_hz / hz))):
            low, high = int(order * hz * (1.0 - near) * bins), int(order * hz * (1.0 + near) * bins) + 2
            before, *within, after = spectrum[low - 1 : high + 1].tolist()
            most = max(within)
            power.append(0.0 if most < max(before, after) else most)  # a neighbour's slope
        for times in (2, 3):
            others = sum(power) - sum(power[times - 1 :: times])
            if len(power) > times and others < EMPTY_COMB * sum(power):
                return times
        return 1

    def weigh(self, sound: Sound, hz: float, since_struck: int, ticks: int, *, speed: float) -> float:
        """The pitch of a note held at `hz` that moves at `speed` cents a second, `ticks` later.

        Another one only while that is not decided.
        """
        due = self._ticks // LOOK_TICKS
        self._ticks += ticks
        # 0.2 s, two of the pauses that part notes: no string changes its octave, what a fading tail suggests is noise.
        self.decided = self._ticks >= 2 * REST_TICKS
        if self.decided or self._ticks // LOOK_TICKS == due:
            return hz
        doubts = self.doubts(sound, hz, since_struck)
        own = doubts[0]
        held = _log_odds(own, 1.0, own)
        for at, times in enumerate(LADDER[1:], 1):
            other = _log_odds(doubts[at], times, own)
            self._odds[at] = max(-MOST_ODDS, self._odds[at] + max(-MOST_ODDS, min(MOST_ODDS, other - held)))
        if self._ticks // LOOK_TICKS % COMB_LOOKS == 0:
            times = self._borrows(sound, hz, since_struck, speed)
            if times > 1 and times * hz < self._highest_hz:
                self._odds[LADDER.index(times)] = 2.0 * MOST_ODDS
        ahead = self._odds.index(max(self._odds))
        return hz * LADDER[ahead] if self._odds[ahead] > MOST_ODDS else hz


def _log_odds(doubt: float, times: float, own: float) -> float:
    if (times > 1.0 and doubt > own + EMPTY) or (times != 1.0 and doubt >= 1.0):
        return -math.inf  # what explains nothing is no better than a pitch that fell silent
    return math.log((1.0 - doubt + LEAST_DOUBT) / (doubt + LEAST_DOUBT)) + PRICE * math.log2(times)
