"""A pitch -> the same, or the one an octave or a twelfth off that it really is."""

from __future__ import annotations

from collections.abc import Callable

from pedal.pitch.correlation import SHORTEST_LAG, alike
from pedal.pitch.intake import Samples
from pedal.pitch.lens import lenses

EMPTY_AT_FIRST, EMPTY = 0.03, 0.003
"""Share of power below which the partials between the multiples are taken for noise; at the pluck there is more."""
SETTLED_S = 0.045
VETO, DOUBT = 0.2, 0.3
"""A pitch whose double period repeats this much better than its period is half of it: a missing fundamental."""
DOUBTFUL, NOT_PLAIN = 0.93, 0.98
"""Likeness to the period before from which an octave too high, or too low, has not to be doubted."""
DOUBTS = 2
LOWEST_DOUBTED_HZ, HIGHEST_HZ = 120.0, 1700.0
AS_GOOD = 0.05
"""A part of the period this little worse than the whole is the period."""
WINDOW_S = 0.02


def emptiest(power: list[float], share: float) -> int:
    """2 or 3 if all but `share` of the power of four partials lies on every second or third of them, else 1."""
    first, second, third, fourth = power
    if first + third < share * (second + fourth):
        return 2
    if first + second + fourth < share * third:
        return 3
    return 1


class Octave:
    """Remembers doubts about one note's octave."""

    def __init__(self, rate_hz: float) -> None:
        self._rate = rate_hz
        self._lenses = lenses(rate_hz)
        self._doubts = 0

    def start(self) -> None:
        """Another note."""
        self._doubts = 0

    def corrected(self, newest: Callable[[int], Samples], hz: float, since_struck: int) -> float:
        """`hz`, or two or three times or half of that, of a pitch found by its period alone."""
        lens = self._lenses.nearest(hz)
        if lens.count == 4:
            z = lens.rows.dot(newest(lens.length)).tolist()
            times = emptiest([z[k] * z[k] + z[k + 4] * z[k + 4] for k in range(4)], EMPTY_AT_FIRST)
            if times > 1 and not self._repeats_late(newest, hz * times, times, share=VETO, since_struck=since_struck):
                return hz * times
        heard_twice = since_struck > 2 * self._rate / hz + WINDOW_S * self._rate
        if heard_twice and hz > LOWEST_DOUBTED_HZ:
            late = self._repeats_late(newest, hz, 2, share=VETO, since_struck=since_struck)
            return 0.5 * hz if late else hz
        return hz

    def too_high(self, newest: Callable[[int], Samples], hz: float, since_struck: int) -> bool:
        """Whether a note that does not repeat itself after a period does so after two."""
        return hz > LOWEST_DOUBTED_HZ and self._repeats_late(newest, hz, 2, share=DOUBT, since_struck=since_struck)

    def doubted(
        self, newest: Callable[[int], Samples], hz: float, *, power: list[float], likeness: float, since_struck: int
    ) -> float:
        """The pitch of a held note, another one than `hz` only if it was followed in the wrong octave."""
        settled = since_struck > SETTLED_S * self._rate
        if len(power) == 4:
            times = emptiest(power, EMPTY if settled else EMPTY_AT_FIRST)
            if times > 1 and not self._repeats_late(newest, hz * times, times, share=VETO, since_struck=since_struck):
                return hz * times
        if likeness < NOT_PLAIN:
            for times in (2, 3):
                if (
                    times * hz < min(HIGHEST_HZ, self._rate / SHORTEST_LAG)
                    and self._repeats_early(newest, hz, times)
                    and not self._repeats_late(newest, hz * times, times, share=VETO, since_struck=since_struck)
                ):
                    return hz * times
        if likeness < DOUBTFUL and hz > LOWEST_DOUBTED_HZ:
            share = DOUBT if settled else VETO
            late = self._repeats_late(newest, hz, 2, share=share, since_struck=since_struck)
            self._doubts = self._doubts + 1 if late else 0
            if self._doubts >= DOUBTS:
                return 0.5 * hz
        return hz

    def _repeats_early(self, newest: Callable[[int], Samples], hz: float, times: int) -> bool:
        """Whether the sound is nearly as much like itself after a part of its period: the rest is noise."""
        period = self._rate / hz
        window = int(WINDOW_S * self._rate)
        history = newest(window + int(period) + 16)
        whole, part = alike(history, period, window), alike(history, period / times, window)
        return part > whole - AS_GOOD

    def _repeats_late(
        self, newest: Callable[[int], Samples], hz: float, times: int, *, share: float, since_struck: int
    ) -> bool:
        """Whether the sound is far more like itself after `times` periods of `hz` than after one."""
        period = self._rate / hz
        if period < SHORTEST_LAG:
            return False
        window = min(int(WINDOW_S * self._rate), since_struck)
        history = newest(window + int(times * period) + 16)
        return 1 - alike(history, times * period, window) < share * (1 - alike(history, period, window))
