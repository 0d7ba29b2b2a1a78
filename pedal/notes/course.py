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
        recent = self._recent
        recent.append((now, cents))
        while recent[0][0] < now - STAND_S:
            recent.popleft()
        if self._state in ("rest", "held"):
            return self._leave(now, cents)
        heights = [c for _, c in recent]
        highest, lowest = max(heights), min(heights)
        if highest - lowest <= STAND_CENTS and now - recent[0][0] > 0.8 * STAND_S:
            return self._stand(now, sum(heights) / len(heights))
        if self._state == "rising" and cents < highest - FALL_CENTS:
            return self._fall(now)
        if self._state == "falling" and cents > lowest + FALL_CENTS:
            return self._rise(now)
        return []

    def _leave(self, now: float, cents: float) -> list[NoteEvent]:
        if cents > self._level + LEAVE_CENTS:
            return self._rise(now)
        return self._fall(now) if cents < self._level - FALL_CENTS else []

    def _stand(self, now: float, cents: float) -> list[NoteEvent]:
        begins, self._level = self._state == "new", cents
        self._state = "rest" if begins else "held"
        hz = 2.0 ** (cents / 1200.0)
        return [Rest(now, hz) if begins else Hold(now, hz)]

    def _rise(self, now: float) -> list[NoteEvent]:
        self._state = "rising"
        return [Rise(now)]

    def _fall(self, now: float) -> list[NoteEvent]:
        self._state = "falling"
        return [Fall(now)]
