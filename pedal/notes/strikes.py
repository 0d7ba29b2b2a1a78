"""Readings and edges -> strikes: moments at which a string may have been plucked.

Not the event that `pedal.pitch.onset` looks for: there a wave does not follow from the period before, so the ear's
window begins anew; here a pick or a scratch shows in the upper part of the whole sound, so a note begins. A hammer-on,
a tread of a slide and a damping hand break the wave and strike nothing. Measured on 4,140 plucks of three voices: both
hear each of them; beside them the ear begins anew 760 times, and not one strike is heard.
"""

from __future__ import annotations

from collections import deque

from pedal.notes.edges import Edge
from pedal.pitch.gate import LEAST_POWER
from pedal.pitch.onset import BROKEN_DB
from pedal.pitch.reading import Reading
from pedal.values import frozen

PAST_S = 0.030
"""More than two periods of a low E string: a steady note has one loudest moment a period, and its past holds it too."""
SLOPE = 10.0**0.35
"""On sampled guitars the slope of a ringing note never jumps by more than 2 dB, at a pluck by 8 to 40. A softer pluck
shows by its scratch where the wave breaks off too: a finger sliding along a string only scratches, a hammer-on only
breaks the wave."""
APART_S = 0.040


def one_note(hz: float, other_hz: float) -> bool:
    """Whether two pitches lie within a semitone of each other: readings in a row, and strings, are then one."""
    semitone: float = 2.0 ** (1 / 12)
    return 1 / semitone < hz / other_hz < semitone


@frozen
class Strike:
    """`before_db` and `loud_db`: the level before, and the loudest since."""

    time_s: float
    before_db: float
    loud_db: float


class Burst:
    """Whether the power of some difference of the sound rises to so many `times` its recent past."""

    def __init__(self, hop_s: float, times: float) -> None:
        self._times = times
        self._last: float | None = None
        self._past: deque[float] = deque(maxlen=max(2, round(PAST_S / hop_s)))

    def hear(self, power: float) -> bool:
        """Whether the louder of the newest two hops, 5 ms, stands so far above the loudest of the tens before."""
        power = power if power > LEAST_POWER else LEAST_POWER
        last, self._last, past = self._last, power, self._past
        if last is None:
            return False
        newest, times = power if power > last else last, self._times
        # Nearly always the last one of the past settles it: it can only be louder as a whole.
        jumps = bool(past) and newest >= times * past[-1] and newest >= times * max(past)
        past.append(last)
        return jumps

    def forget(self) -> None:
        """Samples were lost: the past is no measure any more."""
        self._last = None
        self._past.clear()


class Strikes:
    """Watches for strikes; `latest` is the one that still waits for its pitch, or None."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._hop_s = hop / sample_rate
        self._slope, self._scratch = Burst(self._hop_s, SLOPE), Burst(self._hop_s, SLOPE)
        # Half of the past, a period of a low string: it is loud once in each.
        self._levels: deque[float] = deque(maxlen=max(1, round(0.5 * PAST_S / self._hop_s)))
        self._last_s = -1.0
        self.latest: Strike | None = None

    @property
    def loud_db(self) -> float:
        """The loudest of the last milliseconds, dBFS."""
        return max(self._levels) if self._levels else -120.0

    def hear(self, reading: Reading, edge: Edge) -> None:
        """One reading more and the edge of its hop."""
        now, level = reading.heard_s, reading.level_db
        slope, curve = edge
        scratched = self._scratch.hear(curve) and reading.attack_db >= BROKEN_DB
        if self._slope.hear(slope) or scratched:
            if now - self._last_s > APART_S:
                self.latest = Strike(now - self._hop_s, self.loud_db, level)
            self._last_s = now
        self._levels.append(level)
        strike = self.latest
        if strike is not None and now - strike.time_s < APART_S and level > strike.loud_db:
            self.latest = Strike(strike.time_s, strike.before_db, level)

    def forget(self) -> None:
        """Samples were lost: the past is no measure any more."""
        self._slope.forget()
        self._scratch.forget()
