"""Readings and their samples -> note events as they happen; the finished note comes with its end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.notes.course import Course
from pedal.notes.event import End, NoteEvent, Onset
from pedal.notes.onset import PluckEar
from pedal.notes.story import tell_note
from pedal.pitch.reading import Reading

STRIKE_DB = 6.0
STRIKES_APART_S = 0.040
STRIKE_WAITS_S = 0.150
"""A strike that no pitch follows within this was a thump."""
CONFIDENT = 0.8
BEGIN_N = 4
"""So many pitched readings in a row begin a note after a strike."""
SWELL_N = 30
"""Without a strike a note must have sounded for so many readings: a fading string flickers."""
BEGIN_SPAN = 1.06
SILENCE_S = 0.060
LONGEST_S = 60.0


class Listener:
    """Streaming. `.hear` takes each reading with the block it came with; `.finish` ends what still sounds."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._hop_s = hop / sample_rate
        self._ear = PluckEar(sample_rate, hop)
        self._strike_s: float | None = None
        self._last_strike_s = -1.0
        self._onset_s: float | None = None
        self._readings: list[Reading] = []
        self._row: list[Reading] = []
        self._course = Course()
        self._pitched_s = 0.0

    def hear(self, reading: Reading, block: NDArray[np.float32], *, lost_samples: int = 0) -> list[NoteEvent]:
        """What happened with this reading; `lost_samples` were lost just before its block."""
        if lost_samples:
            self._ear.forget()
        strike_db = self._ear.strike_db(block)
        now = reading.heard_s
        pitched = reading.hz > 0.0 and reading.confidence >= CONFIDENT
        events: list[NoteEvent] = []
        if strike_db >= STRIKE_DB:
            if now - self._last_strike_s > STRIKES_APART_S:
                self._strike_s = now - self._hop_s
            self._last_strike_s = now
        if self._strike_s is not None and now - self._strike_s > STRIKE_WAITS_S:
            self._strike_s = None
        self._follow_row(reading, pitched=pitched)
        begun = self._begun()
        if begun is not None:
            events += self._end(begun, stopped=True)
            events += self._begin(begun)
            for old in self._row:
                events += self._add(old)
        elif self._onset_s is not None:
            if pitched:
                self._pitched_s = now
                events += self._add(reading)
            else:
                self._readings.append(reading)
            if now - self._pitched_s > SILENCE_S or now - self._onset_s > LONGEST_S:
                events += self._end(self._pitched_s, stopped=False)
        return events

    def finish(self) -> list[NoteEvent]:
        """The sound is over."""
        return self._end(self._pitched_s, stopped=False)

    def _follow_row(self, reading: Reading, *, pitched: bool) -> None:
        if not pitched:
            self._row = []
            return
        if self._row and not 1 / BEGIN_SPAN < reading.hz / self._row[-1].hz < BEGIN_SPAN:
            self._row = []
        self._row.append(reading)
        self._row = self._row[-SWELL_N:]

    def _begun(self) -> float | None:
        """When a new note began, if this reading proves it."""
        if self._strike_s is not None:
            since = [r for r in self._row if r.time_s > self._strike_s]
            if len(since) >= BEGIN_N:
                self._row = since
                began, self._strike_s = self._strike_s, None
                return began
        elif self._onset_s is None and len(self._row) >= SWELL_N:
            return self._row[0].time_s
        return None

    def _begin(self, onset_s: float) -> list[NoteEvent]:
        self._onset_s = onset_s
        self._readings = []
        self._course = Course()
        return [Onset(onset_s)]

    def _add(self, reading: Reading) -> list[NoteEvent]:
        self._readings.append(reading)
        self._pitched_s = reading.heard_s
        return self._course.follow(reading)

    def _end(self, end_s: float, *, stopped: bool) -> list[NoteEvent]:
        if self._onset_s is None:
            return []
        readings = [r for r in self._readings if r.heard_s <= end_s] if stopped else self._readings
        note = tell_note(self._onset_s, end_s, readings, stopped=stopped, crowded=False)
        self._onset_s = None
        return [End(end_s, note)]
