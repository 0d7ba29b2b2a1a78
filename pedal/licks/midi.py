"""A Standard MIDI file with pitch bends -> the lick in it.

mido reads the file; the bend range is that of registered parameter 0 (MIDI 1.0 Detailed Specification, from memory),
2 semitones where none is set. One voice: notes that are struck together are chords, and no lick.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from itertools import pairwise

import mido

from pedal.licks.lick import CURL_LEAST_CENTS, FURTHEST_SEMITONES, Lick, LickEnding, LickError, LickNote
from pedal.theory.neck import STANDARD, Tuning
from pedal.theory.scale import CURL_SEMITONES, Key

MOST_BYTES = 100_000
"""Many times what a lick needs. A length that never ends costs mido the square of it: 0.8 s of this many bytes."""
DRUMS = 9
"""Channel 10 as people count."""
TOGETHER_S = 0.03
"""Two notes that begin so near each other were struck together; legato overlaps later."""
STANDS_CENTS = 6.0
RELEASED_SHARE = 0.3
_USUAL_TEMPO_US = 500_000


@dataclass(slots=True)
class _Played:
    midi: int
    start_s: float
    beat_s: float
    """Of the tempo at its beginning."""
    end_s: float = -1.0
    cents: list[tuple[float, float]] = field(default_factory=list)
    """From when on the wheel stood where."""


def lick_of_midi(raw: bytes, key: Key, *, tuning: Tuning = STANDARD, name: str = "") -> Lick:
    """The lick of a file's bytes (`raw`), curls and bends told from its pitch wheel; `name` is what it is called.

    Raises
    ------
    LickError
        If it is no such file, is damaged, holds chords, or its notes are no lick.
    """
    notes = sorted(_read(raw), key=lambda note: note.start_s)
    if not notes:
        raise LickError("the MIDI file holds no note")
    for one, later in pairwise(notes):
        if later.start_s - one.start_s < TOGETHER_S:
            raise LickError("the MIDI file holds chords: give a track of single notes")
    beat_s = notes[0].beat_s
    made = []
    for place, note in enumerate(notes):
        length_s = note.end_s - note.start_s
        gap_s = notes[place + 1].start_s - note.start_s if place + 1 < len(notes) else length_s
        sounding_s = min(length_s, gap_s) or gap_s
        beats, rest = round(sounding_s / beat_s, 3) or 0.001, round((gap_s - sounding_s) / beat_s, 3)
        made.append(_note(note, beats, rest, key))
    return Lick(tuple(made), key, min(400.0, max(20.0, 60.0 / beat_s)), tuning, name)


def _note(note: _Played, beats: float, rest: float, key: Key) -> LickNote:
    """Plain, curl, bend or pre-bend by where its wheel begins, stands longest, and ends."""
    levels = [cents for _, cents in note.cents]
    first, last = levels[0], levels[-1]
    top = _stand(note)
    if min(levels) < -STANDS_CENTS:
        raise LickError(f"a note of the MIDI file is bent down by {-min(levels):.0f} cents, which no finger does")
    if top < CURL_LEAST_CENTS and first < CURL_LEAST_CENTS:
        return LickNote(note.midi, beats, rest)
    released = last < RELEASED_SHARE * max(top, first)
    ending: LickEnding = "release" if released else "cut"
    if first > 0.7 * top and first >= 60.0:
        target = note.midi + round(first / 100.0)
        return LickNote(note.midi, beats, rest, "prebend", *_aimed(note.midi, target, first), ending)
    if top < 100.0 - CURL_LEAST_CENTS and key.steps_above_tonic(note.midi) in CURL_SEMITONES:
        return LickNote(note.midi, beats, rest, "curl", None, float(round(top)), ending)
    target = note.midi + max(1, round(top / 100.0))
    return LickNote(note.midi, beats, rest, "bend", *_aimed(note.midi, target, top), ending)


def _aimed(midi: int, target: int, cents: float) -> tuple[int, float]:
    """Where a bend goes, and how far off it was."""
    if not 1 <= target - midi <= FURTHEST_SEMITONES:
        raise LickError(f"a bend of {cents:.0f} cents in the MIDI file is further than a finger bends")
    return target, float(round(cents - 100.0 * (target - midi)))


def _stand(note: _Played) -> float:
    """The height at which the wheel stands longest, of the upper half; its highest where it never stands."""
    edges = [*(at_s for at_s, _ in note.cents), note.end_s]
    stays: dict[int, float] = {}
    for (at_s, cents), until_s in zip(note.cents, edges[1:], strict=True):
        level = round(cents / STANDS_CENTS)
        stays[level] = stays.get(level, 0.0) + until_s - at_s
    highest = max(cents for _, cents in note.cents)
    upper = {level: stay for level, stay in stays.items() if level * STANDS_CENTS >= 0.5 * highest}
    if highest < CURL_LEAST_CENTS or not upper:
        return highest
    level = max(upper, key=lambda level: upper[level])
    members = [cents for _, cents in note.cents if round(cents / STANDS_CENTS) == level]
    return members[-1]


def _read(raw: bytes) -> list[_Played]:
    if len(raw) > MOST_BYTES:
        raise LickError(f"the MIDI file is larger than {MOST_BYTES // 1000} kB: no lick is")
    if raw[:4] != b"MThd":
        raise LickError("it is no Standard MIDI file: it does not begin with MThd")
    try:
        file = mido.MidiFile(file=io.BytesIO(raw))
    except Exception as fault:  # whatever a stranger's bytes bring the reader to, the file is damaged
        raise LickError("the MIDI file is damaged, or ends too early: save it anew") from fault
    if file.type > 1:
        raise LickError(f"a MIDI file of format {file.type} is not read here: save it as format 0 or 1")
    if file.ticks_per_beat <= 0:
        raise LickError("the MIDI file counts frames and not beats: save it with ticks a quarter note")
    reader = _Reader(file.ticks_per_beat)
    for message in file.merged_track:
        reader.take(message)
    return reader.ended()


class _Reader:
    """Messages in the order of time -> notes with what the wheel did while they sounded."""

    def __init__(self, ticks_a_beat: int) -> None:
        self._ticks_a_beat = ticks_a_beat
        self._tempo_us, self._now_s = _USUAL_TEMPO_US, 0.0
        self._wheel = [0.0] * 16
        self._range = [2.0] * 16
        self._parameter: list[tuple[int, int]] = [(127, 127)] * 16
        self._sounding: dict[tuple[int, int], _Played] = {}
        self._notes: list[_Played] = []

    def take(self, message: mido.Message) -> None:
        self._now_s += mido.tick2second(message.time, self._ticks_a_beat, self._tempo_us)
        match message.type:
            case "set_tempo":
                self._tempo_us = message.tempo or self._tempo_us
            case "note_on" if message.velocity and message.channel != DRUMS:
                self._end_note(message.channel, message.note)
                note = _Played(message.note, self._now_s, self._tempo_us / 1e6)
                note.cents.append((self._now_s, self._wheel[message.channel]))
                self._sounding[message.channel, message.note] = note
                self._notes.append(note)
            case "note_on" | "note_off":
                self._end_note(message.channel, message.note)
            case "pitchwheel":
                self._turn(message.channel, message.pitch)
            case "control_change":
                self._control(message.channel, message.control, message.value)
            case _:
                pass

    def ended(self) -> list[_Played]:
        """All notes; what still sounds at the end ends there."""
        for note in self._sounding.values():
            note.end_s = self._now_s
        return self._notes

    def _end_note(self, channel: int, midi: int) -> None:
        note = self._sounding.pop((channel, midi), None)
        if note is not None:
            note.end_s = self._now_s

    def _turn(self, channel: int, wheel: int) -> None:
        self._wheel[channel] = 100.0 * self._range[channel] * wheel / 8192.0
        for (on, _), note in self._sounding.items():
            if on == channel:
                if note.cents[-1][0] == self._now_s:
                    note.cents.pop()
                note.cents.append((self._now_s, self._wheel[channel]))

    def _control(self, channel: int, number: int, value: int) -> None:
        msb, lsb = self._parameter[channel]
        match number:
            case 101:
                self._parameter[channel] = (value, lsb)
            case 100:
                self._parameter[channel] = (msb, value)
            case 6 if (msb, lsb) == (0, 0):
                self._range[channel] = float(value)
            case 38 if (msb, lsb) == (0, 0):
                self._range[channel] = int(self._range[channel]) + value / 100.0
            case _:
                pass
