"""One pluck, from its onset to its end: the turns of its pitch as they happen, and at last its notes."""

from __future__ import annotations

from dataclasses import replace
from struct import Struct
from typing import Literal

import numpy as np

from pedal.notes.bins import Bins
from pedal.notes.decoder import STAND_BINS, Decoder
from pedal.notes.event import Fall, Hold, NoteEvent, Rest, Rise
from pedal.notes.heard import Ends, Heard
from pedal.notes.note import Note, Refusal, Trace
from pedal.notes.runs import LEAST_FALL_CENTS, LEAST_RISE_CENTS, find_runs, gone_on
from pedal.notes.sound import own_sound
from pedal.notes.story import refused, tell_notes
from pedal.notes.strikes import APART_S
from pedal.pitch.reading import Reading
from pedal.pitch.search import CLEAR_AT_LAST

PLUCK_SHARE = 0.1
_FIELDS = Struct(f"{len(Reading._fields)}d")


class Follower:
    """`.hear(reading)` returns the turns that a reading proves; `.finish(...)` the notes."""

    def __init__(self, onset_s: float) -> None:
        self._onset_s = onset_s
        self._bins = Bins(onset_s)
        self._decoder = Decoder()
        self._readings = bytearray()  # as they will lie in the table of them: making it at the end cost more
        self._state: Literal["new", "rest", "rising", "held", "falling"] = "new"
        self._level = 0.0

    def hear(self, reading: Reading) -> list[NoteEvent]:
        """The turns of the pitch that this reading proves; times never run backwards."""
        self._readings += _FIELDS.pack(*reading)
        events: list[NoteEvent] = []
        if reading.hz > 0.0 and reading.confidence >= CLEAR_AT_LAST:
            for cents, weight in self._bins.hear(reading):
                if self._decoder.push(cents, weight):
                    events += self._turn(reading.heard_s)
        return events

    def _turn(self, now: float) -> list[NoteEvent]:
        kind, begin, level = self._decoder.now()
        if kind == "stand" and self._decoder.n - begin >= 2 * STAND_BINS:  # no other can have stood meanwhile
            if self._state == "new":
                self._state, self._level = "rest", level
                return [Rest(now, self._hz(level))]
            if self._state in ("rising", "falling"):
                self._state, self._level = "held", level
                return [Hold(now, self._hz(level))]
        elif kind != "stand":
            moved = level - self._level
            if moved > LEAST_RISE_CENTS and self._state in ("rest", "held", "falling"):
                self._state, self._level = "rising", level
                return [Rise(now)]
            if moved < -LEAST_FALL_CENTS and self._state in ("rest", "held", "rising"):
                self._state, self._level = "falling", level
                return [Fall(now)]
        if self._state in ("rising", "falling"):
            extreme = max if self._state == "rising" else min
            self._level = extreme(self._level, level)
        return []

    def _hz(self, cents: float) -> float:
        return float(self._bins.base_hz * 2.0 ** (cents / 1200.0))

    def finish(self, end_s: float, *, stopped: bool, polyphonic: bool, led: bool = False) -> list[Note]:
        """The notes of this pluck. `stopped`: a new pluck ended it. `polyphonic`: a second string sounded.

        `led`: and yet the pitch that was heard is that of a string, not one that two have in common.
        """
        for cents, weight in self._bins.flush():
            self._decoder.push(cents, weight)
        table = np.frombuffer(bytes(self._readings), np.float64).reshape(-1, len(Reading._fields))
        time_s, hz, confidence, level_db, heard_s, _, _, clear_db = table.T
        pitched = (hz > 0.0) & (confidence >= CLEAR_AT_LAST)
        trace = Trace(time_s[pitched].copy(), hz[pitched].copy(), level_db[pitched].copy())
        silent = not pitched[-12:].any()
        sound = own_sound(heard_s, level_db, clear_db, hz, confidence, silent=silent, struck=stopped)
        touched_s = min(APART_S, PLUCK_SHARE * (end_s - self._onset_s))
        until_s = min(sound.until_s, end_s - touched_s) if stopped else sound.until_s
        by_hand = stopped or sound.by_hand
        ends = Ends(self._onset_s, end_s, by_hand=by_hand)
        own = pitched & (heard_s <= until_s)
        if not own.any():
            why: Refusal = "two_strings" if polyphonic else "too_short" if pitched.any() else "no_pitch"
            return [refused(ends, why, trace)]
        last = self._bins.number(float(time_s[own].max())) + 1
        runs = find_runs(self._decoder.path(last))
        if not stopped and runs and runs[-1].move != "flat":
            sounded = self._bins.number(float(time_s[pitched].max())) + 1
            if longer := gone_on(find_runs(self._decoder.path(sounded)), last):
                runs, own = longer, pitched & (time_s < self._bins.time_s(longer[-1].end))
        base = self._bins.base_hz
        heard = Heard(base, self._bins.time_s(0), time_s[own], heard_s[own], 1200.0 * np.log2(hz[own] / base))
        notes = tell_notes(runs, heard, ends, trace)
        return _accompanied(notes, ends, trace, led=led) if polyphonic else notes


def _accompanied(notes: list[Note], ends: Ends, trace: Trace, *, led: bool) -> list[Note]:
    """The notes of a pluck with which a second string sounded: what stood still is told, a move may be either's."""
    if any(note.refusal in ("hammer_on", "slide") for note in notes):  # two tones in one look, not two strings
        return notes
    if led and all(note.refusal is None and note.shape == "level" and note.vibrato is None for note in notes):
        return [replace(note, accompanied=True) for note in notes]
    return [refused(ends, "two_strings", trace)]
