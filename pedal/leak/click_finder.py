"""Samples and the beats of a pulse -> by how much later than told its clicks come back, where they are heard at all.

What a driver tells of its delay is all that places the pulse, and an interface may hide as much again. Where clicks
come back, through the air, a mixer or a cable, they tell it: each is looked for around its beat by what it is, and what
is at one place in half of the beats is the click. A pluck is never so exact, a string that sounds on is no peak.
"""

from __future__ import annotations

import numpy as np

from pedal.leak.drone_leak import CLEAR_SHARE
from pedal.theory.pulse import COUNT_IN_BEATS, Pulse
from pedal.theory.voice import CLICK_DECAY_S, Floats

EARLY_S, LATEST_S = 0.05, 0.4
"""How much earlier and later than told clicks are looked for; at a quick tempo up to the next one."""
STANDS_OUT = 3.0
"""So many times the power of the next likely place."""
BAND = 0.8, 1.25
"""Of the click's pitch: its neighbourhood, in which it is weighed."""


class ClickFinder:
    """`.hear(at, samples)` takes sound in, counted in samples from the first beat; `.later_s` is what it tells."""

    def __init__(self, pulse: Pulse, rate: int) -> None:
        self._pulse, self._rate = pulse, rate
        latest_s = min(LATEST_S, 0.45 * pulse.beat_s)
        self._early, self._late = round(EARLY_S * rate), round(latest_s * rate)
        t = np.arange(round(3 * CLICK_DECAY_S * rate)) / rate
        click = np.exp(2j * np.pi * pulse.click_hz * t - t / CLICK_DECAY_S)
        self._length = self._early + self._late + len(t)
        hz = np.abs(np.fft.fftfreq(self._length, 1 / rate))
        self._band = (hz > BAND[0] * pulse.click_hz) & (hz < BAND[1] * pulse.click_hz)
        self._like = np.fft.fft(click / np.linalg.norm(click), self._length).conj() * self._band
        self._shares: list[Floats] = []
        self._beat, self._looked_at = 0, 0
        self._tail: Floats = np.zeros(0)
        self._tail_to: int | None = None
        self.later_s: float | None = None
        """None while clicks are not heard."""

    @property
    def over(self) -> bool:
        """Whether it has heard as many beats as it ever looks at."""
        return self._looked_at >= 4 * COUNT_IN_BEATS  # one is enough; what four did not tell will never be known

    def forget(self) -> None:
        """The output comes later or earlier from now on: what was heard until now tells nothing."""
        self._shares.clear()
        self.later_s, self._looked_at = None, 0

    def hear(self, at: int, samples: Floats) -> None:
        """The next samples, as they came in."""
        if self.over:
            return
        if self._tail_to != at:
            self._tail = np.zeros(0)
        self._tail = np.concatenate([self._tail, samples])[-(self._length + len(samples)) :]
        self._tail_to = to = at + len(samples)
        while not self.over:
            begin = round(self._beat * self._pulse.beat_s * self._rate) - self._early
            if begin + self._length > to:
                break
            self._beat += 1
            first = begin - (to - len(self._tail))
            if first >= 0:
                self._looked_at += 1
                self._look(self._tail[first : first + self._length])

    def _look(self, heard: Floats) -> None:
        spectrum = np.fft.fft(heard)
        power = float(np.sum(np.abs(spectrum[self._band]) ** 2)) / self._length
        if power <= 1e-12:  # digital silence: nothing is connected, or nothing sounds yet
            return
        likely = np.abs(np.fft.ifft(spectrum * self._like))[: self._early + self._late] ** 2
        self._shares.append(2.0 * likely / power)
        if len(self._shares) < COUNT_IN_BEATS:
            return
        middle = np.median(np.array(self._shares), axis=0)
        best = int(np.argmax(middle))
        apart = round(2 * CLICK_DECAY_S * self._rate)  # nearer it is the same place: the click rings, a room answers
        others = np.concatenate([middle[: max(0, best - apart)], middle[best + apart :]])
        clear = middle[best] > CLEAR_SHARE and middle[best] > STANDS_OUT * float(others.max(initial=0.0))
        self.later_s = (best - self._early) / self._rate if clear else None
