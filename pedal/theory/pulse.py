"""Time in bars: what is played, and where a moment lies beside the beat."""

from __future__ import annotations

import math
from typing import Literal, get_args

from pedal.values import frozen

Feel = Literal["straight", "shuffle"]
FEELS: tuple[Feel, ...] = get_args(Feel)
BEATS_A_BAR = 4
COUNT_IN_BEATS = BEATS_A_BAR
SLOWEST_BPM, FASTEST_BPM = 40, 160
OFF_BEATS: dict[Feel, float] = {"straight": 1 / 2, "shuffle": 2 / 3}
"""Where the second eighth lies between two beats: a shuffle is the first and third of a triplet."""
ACCENTS, OFF_ACCENT = (1.0, 0.6, 0.6, 0.6), 0.2
"""Clicks of the beats of a bar, and of the eighths between."""


@frozen
class Pulse:
    """What is to be played in time: `bars` are the chords' frequencies in hertz, bar by bar, over and over.

    bpm : quarter notes a minute.
    off_beat : where between two beats the second eighth lies, 0 to 1.
    click_hz : pitch of the click.
    """

    bpm: int
    bars: tuple[tuple[float, ...], ...]
    off_beat: float
    click_hz: float

    @property
    def beat_s(self) -> float:
        """How long a quarter note lasts."""
        return 60.0 / self.bpm

    def chord(self, beat: int) -> tuple[float, ...]:
        """The chord on a beat counted from the first of the count-in, which is clicks alone: (), none.

        >>> form = Pulse(60, ((1.0,), (4.0,), (1.0,), (5.0,)), 0.5, 3136.0)
        >>> [form.chord(beat) for beat in (0, 3, 4, 8)]
        [(), (), (1.0,), (4.0,)]
        """
        if beat < COUNT_IN_BEATS:
            return ()
        return self.bars[(beat - COUNT_IN_BEATS) // BEATS_A_BAR % len(self.bars)]

    def stretches(self, from_s: float, to_s: float) -> list[Stretch]:
        """What sounds from one time to another after the first beat, in order, a chord a bar; () in the count-in."""
        found: list[Stretch] = []
        beat = max(0, math.floor(from_s / self.beat_s)) // BEATS_A_BAR * BEATS_A_BAR
        while beat * self.beat_s < to_s:
            end = beat + BEATS_A_BAR
            found.append(Stretch(beat * self.beat_s, end * self.beat_s, self.chord(beat)))
            beat = end
        return found

    def clicks(self, from_s: float, to_s: float) -> list[tuple[int, int, float]]:
        """Clicks that begin from one time to before another: beat, 0 on it or 1 after it, and how loud, to 1."""
        first, last = max(0, math.floor(from_s / self.beat_s) - 1), math.floor(to_s / self.beat_s)
        every = [(beat, after) for beat in range(first, last + 1) for after in (0, 1)]
        return [
            (beat, after, OFF_ACCENT if after else ACCENTS[beat % BEATS_A_BAR])
            for beat, after in every
            if from_s <= self.click_s(beat, after) < to_s
        ]

    def click_s(self, beat: int, after: int) -> float:
        """When a click begins, counted from the first beat."""
        return (beat + (self.off_beat if after else 0.0)) * self.beat_s


@frozen
class Stretch:
    """A chord from one time to another, counted from the first beat; () for none."""

    start_s: float
    end_s: float
    hz: tuple[float, ...]


@frozen
class Grid:
    """Beats on the axis of the readings: beat 0, the first of the count-in, at `zero_s`."""

    zero_s: float
    beat_s: float

    def bar(self, time_s: float) -> int:
        """The bar that sounds at a time, 0 for the first after the count-in; negative before it."""
        return int((time_s - self.zero_s) // self.beat_s - COUNT_IN_BEATS) // BEATS_A_BAR

    def beat(self, time_s: float) -> int:
        """The beat of its bar at a time, 1 to 4."""
        return int((time_s - self.zero_s) // self.beat_s) % BEATS_A_BAR + 1

    def beside(self, time_s: float) -> float:
        """Milliseconds from the nearest beat, late positive.

        >>> Grid(10.0, 0.5).beside(12.03), Grid(10.0, 0.5).beside(12.46)
        (30.0, -40.0)
        """
        off = (time_s - self.zero_s) / self.beat_s
        return round(1000.0 * self.beat_s * (off - round(off)), 3)
