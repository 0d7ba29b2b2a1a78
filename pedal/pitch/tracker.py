"""Block of samples -> readings: the ear put together."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.correlation import Correlation
from pedal.pitch.gate import Gate
from pedal.pitch.intake import SHORTEST_TICK_S, TICK_S, Intake
from pedal.pitch.lag import find_period, peak_near
from pedal.pitch.motion import Motion
from pedal.pitch.onset import Onset
from pedal.pitch.reading import Reading

LOWEST_HZ, HIGHEST_HZ = 58.0, 1700.0
STRUCK_DB = 9.0
"""An edge jump that restarts the window, so that the note before does not leak into the next."""
CLEAR_AT_FIRST, CLEAR, CLEAR_ENOUGH = 0.97, 0.9, 0.8
"""Likeness needed in the first two periods, later, and to go on."""
LONGEST_S, SHORTEST_S = 0.044, 0.006


class Tracker:
    """Streaming pitch tracker; see `make_tracker`."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._sample_rate, self._hop = sample_rate, hop
        parts = max(1, round(hop / (TICK_S * sample_rate)))
        self._cuts = [round(hop * i / parts) for i in range(parts + 1)]
        self._intake = Intake(sample_rate, max(b - a for a, b in zip(self._cuts, self._cuts[1:], strict=False)))
        self._rate = self._intake.rate_hz
        self._longest = int(LONGEST_S * self._rate)
        self._correlation = Correlation(self._longest)
        self._onset, self._gate, self._motion = Onset(), Gate(), Motion()
        self._samples = 0
        self._waiting = 0
        self._since_struck = 0
        self._voiced = False
        self._attack_db = 0.0
        self._level_db = -120.0
        self._confidence = 0.0
        self._hz = 0.0
        self._time_s = 0.0
        self.now_hz = 0.0

    def push(self, block: NDArray[np.float32], *, lost_samples: int = 0) -> list[Reading]:
        """One reading of a block of exactly `hop` samples; `lost_samples` were lost just before it."""
        if lost_samples:
            self._samples += lost_samples
            self._intake.forget()
            self._end_note()
        for start, end in zip(self._cuts, self._cuts[1:], strict=False):
            self._samples += end - start
            self._waiting += self._intake.feed(block[start:end])
            if self._waiting >= SHORTEST_TICK_S * self._rate:
                self._tick(self._waiting)
                self._waiting = 0
        heard_s = self._samples / self._sample_rate
        return [Reading(self._time_s if self._voiced else heard_s, self._hz, self._confidence, self._level_db, heard_s, self._attack_db)]

    def _end_note(self) -> None:
        self._voiced = False
        self._hz = self.now_hz = self._confidence = 0.0

    def _tick(self, count: int) -> None:
        newest = self._intake.newest(count + 1)
        edge = newest[1:] - newest[:-1]
        power = float(newest.dot(newest)) / count
        self._level_db = 10.0 * math.log10(power + 1e-12)
        was_open = self._gate.hear(power, voiced=self._voiced)
        self._attack_db = self._onset.hear(float(edge.dot(edge)) / count, self._gate.floor) if was_open else 0.0
        self._since_struck = min(self._since_struck + count, self._longest)
        if not was_open:
            self._end_note()
            self._since_struck = 0
            return
        if self._attack_db > STRUCK_DB:
            self._since_struck = count
        self._measure()

    def _measure(self) -> None:
        rate = self._rate
        heard_s = self._samples / self._sample_rate - self._intake.delay_s
        held = self._voiced and self._since_struck >= self._longest
        window = min(self._since_struck, self._longest)
        if held:
            window = max(int(SHORTEST_S * 2 * rate), min(int(3.2 * rate / self._hz), self._longest))
        elif window < SHORTEST_S * rate:
            return
        samples = self._intake.newest(window)
        likeness = self._correlation.likeness(samples - samples.mean(), min(int(window / 1.6), int(rate / LOWEST_HZ) + 3))
        lag, clarity = find_period(likeness, max(3, int(rate / HIGHEST_HZ)))
        need = CLEAR_ENOUGH if self._voiced else CLEAR_AT_FIRST if window < 2.5 * lag else CLEAR
        if lag == 0.0 or clarity < need:
            if self._since_struck >= self._longest:
                self._end_note()
            return
        many = int((len(likeness) - 3) / lag)
        for times in range(2, many + 1):
            better, _ = peak_near(likeness, lag * times, 2)
            if better:
                lag = better / times
        hz = rate / lag
        cents = 1200.0 * math.log2(hz)
        time_s = heard_s - window / rate / 2
        if not self._voiced or abs(cents - self._motion.at(time_s)) > 80.0:
            self._motion.start(cents, time_s)
        else:
            self._motion.hear(cents, time_s, 2.0)
        self._voiced = True
        self._hz, self._confidence, self._time_s = hz, clarity, time_s
        self.now_hz = 2.0 ** (self._motion.at(heard_s) / 1200.0)


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
