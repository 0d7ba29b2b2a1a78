"""Readings of a sounding note -> its turns as they happen: rest, rise, hold, fall. For the live picture only."""

from __future__ import annotations

import math
from collections import deque
from typing import Literal

from pedal.notes.event import Fall, Hold, NoteEvent, Rest, Rise
from pedal.pitch.reading import Reading

STAND_S = 0.050
STAND_CENTS = 5.0
LEAVE_CENTS = 9.0
FALL_CENTS = 15.0


class Course:
    """Follows one note. `.follow(reading)` returns the turns that this reading proves."""

    def __init__(self) -> None:
        self._recent: deque[tuple[float, float]] = deque()
        self._state: Literal["new", "rest", "rising", "held", "falling"] = "new"
        self._level = 0.0

    def follow(self, reading: Reading) -> list[NoteEvent]:
        """The turns of the pitch that this reading proves; times never run backwards."""
        now, cents = reading.heard_s, 1200.0 * math.log2(reading.hz)
        self._recent.append((now, cents))
        while self._recent[0][0] < now - STAND_S:
            self._recent.popleft()
        heights = [c for _, c in self._recent]
        stands = now - self._recent[0][0] > 0.8 * STAND_S and max(heights) - min(heights) <= STAND_CENTS
        mean = sum(heights) / len(heights)
        match self._state:
            case "new" if stands:
                self._state, self._level = "rest", mean
                return [Rest(now, 2.0 ** (mean / 1200.0))]
            case "rest" | "held" if cents > self._level + LEAVE_CENTS:
                self._state = "rising"
                return [Rise(now)]
            case "rest" | "held" if cents < self._level - FALL_CENTS:
                self._state = "falling"
                return [Fall(now)]
            case "rising" | "falling" if stands:
                self._state, self._level = "held", mean
                return [Hold(now, 2.0 ** (mean / 1200.0))]
            case "rising" if cents < max(heights) - FALL_CENTS:
                self._state = "falling"
                return [Fall(now)]
            case "falling" if cents > min(heights) + FALL_CENTS:
                self._state = "rising"
                return [Rise(now)]
        return []
