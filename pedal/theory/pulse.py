"""Time in bars: what is played, and where a moment lies beside the beat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Feel = Literal["straight", "shuffle"]
FEELS: tuple[Feel, ...] = get_args(Feel)
BEATS_A_BAR = 4
COUNT_IN_BEATS = BEATS_A_BAR
SLOWEST_BPM, FASTEST_BPM = 40, 160
OFF_BEATS: dict[Feel, float] = {"straight": 1 / 2, "shuffle": 2 / 3}
"""Where the second eighth lies between two beats: a shuffle is the first and third of a triplet."""


@dataclass(frozen=True, slots=True)
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
        """The chord on a beat counted from the first of the count-in, in which none sounds."""
        bar = (beat - COUNT_IN_BEATS) // BEATS_A_BAR
        return self.bars[bar % len(self.bars)] if bar >= 0 else ()


@dataclass(frozen=True, slots=True)
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
