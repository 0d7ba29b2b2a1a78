"""Block of samples -> readings: the ear put together."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.correlation import Correlation
from pedal.pitch.gate import Gate
from pedal.pitch.intake import SHORTEST_TICK_S, TICK_S, Intake
from pedal.pitch.lag import alike, find_period
from pedal.pitch.motion import Motion
from pedal.pitch.noise import Noise
from pedal.pitch.onset import Jump, NEW_SHARE_DB, SILENT_POWER
from pedal.pitch.partials import Partials, dominant
from pedal.pitch.reading import Reading

LOWEST_HZ, HIGHEST_HZ = 58.0, 1700.0
STRUCK_DB = 9.0
CLEAR_AT_ONCE, CLEAR, CLEAR_ENOUGH = 0.96, 0.8, 0.6


def is_hum(hz: float) -> bool:
    return any(abs(hz - mains * round(hz / mains)) < 0.012 * hz and hz < 3.5 * mains for mains in (50.0, 60.0))


class Tracker:
    """Streaming pitch tracker; see `make_tracker`."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._sample_rate, self._hop = sample_rate, hop
        parts = max(1, round(hop / (TICK_S * sample_rate)))
        self._cuts = [round(hop * i / parts) for i in range(parts + 1)]
        self._intake = Intake(sample_rate, max(b - a for a, b in zip(self._cuts, self._cuts[1:], strict=False)))
        self._rate = rate = self._intake.rate_hz
        self._shortest, self._longest = max(6, int(rate / HIGHEST_HZ)), int(rate / LOWEST_HZ)
        self._most_template = int(0.0117 * rate)
        self._whole = self._longest + self._most_template
        self._correlation = Correlation(self._whole + 16, rate)
        self._gate, self._noise = Gate(), Noise(rate)
        self._edge, self._news = Jump(), Jump()
        self._motion, self._partials = Motion(hop / parts / sample_rate if hop / sample_rate > SHORTEST_TICK_S else TICK_S), Partials(rate)
        self._samples = 0
        self._waiting = 0
        self._since_struck = 0
        self._held = False
        self._misses = 0
        self._old = (0.0, 0.0)
        self._attack_db = 0.0
        self._level_db = -120.0
        self._confidence = 0.0
        self._hz = 0.0
        self._time_s = 0.0
        self._likeness = 0.0
        self._ticks = 0
        self._ticks_heard = 0
        self._doubts = 0
        self._since_attack = 200
        self.now_hz = 0.0

    def push(self, block: NDArray[np.float32], *, lost_samples: int = 0) -> list[Reading]:
        """One reading of a block of exactly `hop` samples; `lost_samples` were lost just before it."""
        if lost_samples:
            self._samples += lost_samples
            self._intake.forget()
            self._end_note()
        cuts = self._cuts
        if len(cuts) == 2:
            self._feed(block)
        else:
            for start, end in zip(cuts, cuts[1:], strict=False):
                self._feed(block[start:end])
        heard_s = self._samples / self._sample_rate
        time_s = self._time_s if self._hz else heard_s
        return [Reading(time_s, self._hz, self._confidence, self._level_db, heard_s, self._attack_db)]

    def _feed(self, part):
        self._samples += len(part)
        self._waiting += self._intake.feed(part)
        if self._waiting >= SHORTEST_TICK_S * self._rate:
            self._tick(self._waiting)
            self._waiting = 0

    def _end_note(self) -> None:
        self._held = False
        self._hz = self.now_hz = self._confidence = 0.0

    def _tick(self, count: int) -> None:
        self._ticks_heard += 1
        newest = self._intake.newest(count + 1)
        edge = newest[1:] - newest[:-1]
        power = float(newest.dot(newest)) / count
        self._level_db = 10.0 * math.log10(power + 1e-12)
        is_open = self._gate.hear(power)
        floor = self._gate.floor
        attack = self._edge.hear(float(edge.dot(edge)) / count, SILENT_POWER + 4 * floor)
        if not is_open:
            self._attack_db = 0.0
            self._end_note()
            self._since_struck = 0
            self._gate.learn(power, 0.1 if power < floor else 0.02)
            self._noise.hear(self._intake.newest(512))
            return
        if self._held:
            novelty = self._novelty(newest[1:], count)
            if self._since_struck > 3 * self._rate / self.now_hz + 0.006 * self._rate:
                attack = max(attack, novelty)
        self._attack_db = attack
        self._since_struck += count
        self._since_attack = 0 if attack > 6.0 and self._ticks_heard > 6 else self._since_attack + 1
        if attack > STRUCK_DB and self._since_struck > 0.008 * self._rate:
            self._since_struck = count
            self._held = False
            self._hz = self._confidence = 0.0
        if self._held:
            self._follow(count)
        else:
            self._search()
            if not self._held and self._since_struck >= self._whole:
                self._gate.learn(power, 0.2 if self._ticks_heard < 120 else 0.015)

    def _novelty(self, newest, count) -> float:
        period = self._rate / self.now_hz
        lag, best = 0, 1.0
        for times in (1, 2, 3):
            exact = period * times
            off = abs(exact - round(exact)) / period
            if off < best - 0.02:
                lag, best = round(exact), off
        past = self._intake.newest(lag + count)[:count]
        both, old, new = float(newest.dot(past)), float(past.dot(past)), float(newest.dot(newest))
        forget = min(0.4, count / (1.5 * period))
        self._both += forget * (2 * both - self._both)
        self._each += forget * (old + new - self._each)
        self._likeness = self._both / (self._each + 1e-12)
        gain = min(1.0, max(0.0, both / (old + 1e-12)))
        fresh = max(0.0, (new - 2 * gain * both + gain * gain * old) / count - 2 * self._gate.floor)
        jump = self._news.hear(fresh, SILENT_POWER)
        if fresh <= 0:
            return 0.0
        share = NEW_SHARE_DB + 10 * math.log10(fresh / self._gate.loudest)
        return max(0.0, min(jump, share))

    def _search(self) -> None:
        elapsed = min(self._since_struck, self._whole)
        template = min(int(0.42 * elapsed), self._most_template)
        if template < 20:
            return
        longest = min(self._longest, elapsed - template)
        if longest < 2 * self._shortest:
            return
        history = self._intake.newest(self._whole + 16)
        likeness = self._correlation.likeness(history, template, self._shortest, longest)
        lag, clarity = find_period(likeness, self._shortest)
        if lag == 0.0 or clarity < CLEAR:
            self._old = (lag, clarity)
            if elapsed >= self._whole:
                self._end_note()
            return
        times = self._partials.multiple(self._intake.newest(self._partials.longest), self._rate / lag)
        if times > 1 and not self._repeats_late(self._rate / lag * times, times, 0.2):
            lag /= times
        agreed = abs(lag - self._old[0]) < 0.03 * lag
        self._old = (lag, clarity)
        if not (agreed or clarity > CLEAR_AT_ONCE):
            return
        hz = self._rate / lag
        if self._since_attack > 100 and is_hum(hz):
            return
        self._hold(hz, clarity)

    def _hold(self, hz: float, clarity: float) -> None:
        self._held = True
        self._doubts = 0
        self._likeness = clarity
        self._each = 2 * self._gate.loudest * 32
        self._both = clarity * self._each
        self._ref = hz
        behind = self._partials.start(self._intake.newest(self._partials.longest), hz)
        self._motion.start()
        self._behind_s = behind / self._rate + self._intake.delay_s
        self._show(clarity)
        self._ticks = 0

    def _follow(self, count: int) -> None:
        motion = self._motion
        hz = self._ref * 2.0 ** (motion.cents / 1200.0)
        hz2, seconds, variance = self._partials.advance(
            self._intake.newest(self._partials.longest), count, hz, self._noise.at
        )
        self._behind_s += count / self._rate - seconds
        scale = 1200 / math.log(2) / (2 * math.pi * hz)
        motion.hear(1200 * math.log2(hz2 / self._ref), seconds, variance * scale * scale)
        self._ticks += 1
        if self._ticks & 3 == 3 and self._wrong_octave(hz2):
            return
        if self._likeness < CLEAR_ENOUGH:
            self._held = False
            self._hz = self.now_hz = 0.0
            return
        self._show(max(0.0, self._likeness), count / self._rate)

    def _wrong_octave(self, hz: float) -> bool:
        """Starts anew an octave (or a twelfth) off if the partials say so."""
        early = self._since_struck < 0.045 * self._rate
        times = 1
        if hz < 1000:
            times = dominant(self._partials.amplitudes, 0.03 if early else 0.003)
            if times > 1 and self._repeats_late(hz * times, times, 0.2):
                times = 1
        if times == 1 and hz > 120 and self._likeness < 0.93:
            self._doubts = self._doubts + 1 if self._repeats_late(hz, 2, 0.3) else 0
            if self._doubts >= 2:
                times = 0.5
        if times == 1:
            return False
        self._hold(hz * times, self._likeness)
        return True

    def _repeats_late(self, hz: float, times: int, share: float) -> bool:
        """Whether the sound is far more like itself after `times` periods of `hz` than after one."""
        period = self._rate / hz
        window = min(int(0.02 * self._rate), self._since_struck)
        history = self._intake.newest(window + int(times * period) + 16)
        return 1 - alike(history, times * period, window) < share * (1 - alike(history, period, window))

    def _show(self, clarity: float, tick_s: float = TICK_S) -> None:
        motion = self._motion
        cents, ago = motion.smooth(tick_s)
        heard_s = self._samples / self._sample_rate
        self._hz = self._ref * 2.0 ** (cents / 1200.0)
        self._time_s = heard_s - self._behind_s - ago * tick_s
        self._confidence = clarity
        ahead = motion.ahead(self._behind_s + 0.5 * tick_s)
        self.now_hz = self._ref * 2.0 ** (ahead / 1200.0)


def make_tracker(sample_rate: int, hop: int) -> Tracker:
    """A streaming pitch tracker for one guitar string.

    Parameters
    ----------
    sample_rate : int
        Samples a second, 8000 to 192000.
    hop : int
        Samples in every block that `push` will be given, 16 to 1024.

    Returns
    -------
    tracker
        `.push(block, lost_samples=0)` returns a list of one `Reading`; `.now_hz` is the best estimate of the pitch at
        this instant (0.0 if none), looking ahead along the motion.
    """
    return Tracker(sample_rate, hop)
