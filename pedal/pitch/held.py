"""One note that sounds: its pitch a moment ago, and now."""

from __future__ import annotations

import math
from collections.abc import Callable

from pedal.pitch.band import Sound
from pedal.pitch.motion import Motion
from pedal.pitch.octave import Octave
from pedal.pitch.partials import Partials
from pedal.pitch.search import MOST_DOUBT

CENTS_A_RADIAN = 1200.0 / math.log(2.0) / math.tau
"""Cents x hertz x seconds of one radian of turn."""
CALM_SPEED, CALM_AFTER_TICKS = 25.0, 24
"""Below this many cents a second, and past the pluck, only every second tick is measured; the other is expected."""


class Held:
    """Follows one note from the pitch that the search found.

    `hz` and `ago_s` are the fine reading and how many seconds before the newest inner sample it was centred; `now_hz`
    is the pitch expected half a tick after that sample, which is when a screen fed once a tick shows it on average.
    """

    def __init__(self, rate_hz: float, tick_s: float, noise_density: Callable[[float], float]) -> None:
        self._rate = rate_hz
        self._partials = Partials(rate_hz, tick_s, noise_density)
        self._motion = Motion(tick_s)
        self._octave = Octave(rate_hz)
        self.start_hz = self.hz = self.now_hz = 0.0
        self.ago_s = 0.0
        self.power = self.over_noise = 0.0
        """Power of the partials, a sample; and over that of the noise where they are."""
        self._behind_s = 0.0
        self._ticks = 0
        self._unmeasured = 0

    def start(self, sound: Sound, hz: float, tick_s: float) -> None:
        """A note of about `hz`."""
        self._octave.start()
        self.resume(sound, hz, tick_s)

    def resume(self, sound: Sound, hz: float, tick_s: float) -> None:
        """The same note, measured afresh."""
        self.start_hz = hz
        self._behind_s = self._partials.start(sound.newest, hz)
        self._motion.start()
        self._ticks = self._unmeasured = 0
        self._tell(tick_s)

    def follow(self, sound: Sound, count: int, *, since_struck: int) -> None:
        """One more tick of `count` inner samples."""
        motion, partials = self._motion, self._partials
        if self._unmeasured == 0 and self._ticks > CALM_AFTER_TICKS and -CALM_SPEED < motion.speed < CALM_SPEED:
            self._unmeasured = count
            self._expect(count / self._rate)
            return
        ticks = 1 if self._unmeasured == 0 else 2
        count += self._unmeasured
        self._unmeasured = 0
        expected = self.start_hz * 2.0 ** (motion.cents / 1200.0)
        hz, seconds = partials.advance(sound.newest, count, expected)
        tick_s = count / ticks / self._rate
        self._behind_s += count / self._rate - seconds
        scale = CENTS_A_RADIAN / expected
        cents, variance = 1200.0 * math.log2(hz / self.start_hz), partials.variance * scale * scale
        motion.hear(cents, seconds / ticks, variance, ticks)
        self._ticks += 1
        if not self._octave.decided:
            likely_hz = self.start_hz * 2.0 ** (motion.cents / 1200.0)
            better_hz = self._octave.weigh(sound, likely_hz, since_struck, ticks, speed=motion.speed)
            if better_hz != likely_hz:
                self.start(sound, better_hz, tick_s)
                return
        self._tell(tick_s)

    def recovered(self, sound: Sound, count: int, since_struck: int) -> bool:
        """Whether the note is lost only because it was followed in a wrong octave; it goes on where it belongs."""
        if self._octave.decided:
            return False
        hz, doubt = self._octave.best(sound, self.hz, since_struck)
        if doubt > MOST_DOUBT or hz == self.hz:
            return False
        self.start(sound, hz, count / self._rate)
        return True

    @property
    def decided(self) -> bool:
        """Whether the octave is beyond doubt."""
        return self._octave.decided

    def _expect(self, tick_s: float) -> None:
        """One tick further without a look: a calm note goes on as it did, within 0.07 cent."""
        ahead = self._motion.ahead(self._behind_s + 1.5 * tick_s)
        self.now_hz = self.start_hz * 2.0 ** (ahead / 1200.0)

    def _tell(self, tick_s: float) -> None:
        cents, ago_s = self._motion.smooth()
        self.hz = self.start_hz * 2.0 ** (cents / 1200.0)
        self.ago_s = self._behind_s + ago_s
        self.power, self.over_noise = self._partials.power, self._partials.over_noise
        self.now_hz = self.start_hz * 2.0 ** (self._motion.ahead(self._behind_s + 0.5 * tick_s) / 1200.0)
