"""A Standard MIDI file with pitch bends -> the lick in it.

Read by hand from bytes, so that a small computer needs no library for it: MMA, "Standard MIDI Files 1.0" (RP-001),
running status, tempo, and the bend range by registered parameter 0 ("MIDI 1.0 Detailed Specification"), 2 semitones
where none is set. From memory of both; tests check it against mido. One voice: notes that are struck together are
chords, and no lick.
"""

from __future__ import annotations

import struct
from bisect import bisect_right
from dataclasses import dataclass, field
from itertools import pairwise

from pedal.licks.lick import CURL_LEAST_CENTS, FURTHEST_SEMITONES, Lick, LickEnding, LickError, LickNote
from pedal.theory.neck import STANDARD, Tuning
from pedal.theory.scale import CURL_SEMITONES, Key

MOST_BYTES = 1_000_000
DRUMS = 9
"""Channel 10 as people count."""
TOGETHER_S = 0.03
"""Two notes that begin so near each other were struck together; legato overlaps later."""
STANDS_CENTS = 6.0
RELEASED_SHARE = 0.3
_TEMPO, _END = 0x51, 0x2F
_USUAL_TEMPO_US = 500_000


@dataclass(slots=True)
class _Played:
    midi: int
    start: int
    end: int = -1
    cents: list[tuple[int, float]] = field(default_factory=list)


@dataclass(slots=True)
class _Score:
    ticks: int
    tempi: list[tuple[int, int]] = field(default_factory=list)
    notes: list[_Played] = field(default_factory=list)

    def seconds(self, tick: int) -> float:
        """When a tick comes."""
        total, before, tempo = 0.0, 0, _USUAL_TEMPO_US
        for at, micros in sorted(self.tempi):
            if at >= tick:
                break
            total += (at - before) * tempo
            before, tempo = at, micros
        return (total + (tick - before) * tempo) / self.ticks / 1e6


def lick_of_midi(raw: bytes, key: Key, *, tuning: Tuning = STANDARD, name: str = "") -> Lick:
    """The lick of a file's bytes (`raw`), curls and bends told from its pitch wheel; `name` is what it is called.

    Raises
    ------
    LickError
        If it is no such file, is damaged, holds chords, or its notes are no lick.
    """
    score = _read(raw)
    notes = sorted(score.notes, key=lambda note: note.start)
    if not notes:
        raise LickError("the MIDI file holds no note")
    for one, later in pairwise(notes):
        if score.seconds(later.start) - score.seconds(one.start) < TOGETHER_S:
            raise LickError("the MIDI file holds chords: give a track of single notes")
    tempo = next((micros for at, micros in sorted(score.tempi, reverse=True) if at <= notes[0].start), _USUAL_TEMPO_US)
    beat_s = tempo / 1e6
    made = []
    for place, note in enumerate(notes):
        begin, end = score.seconds(note.start), score.seconds(note.end)
        gap = score.seconds(notes[place + 1].start) - begin if place + 1 < len(notes) else end - begin
        sounding = min(end - begin, gap) or gap
        made.append(_note(note, score, round(sounding / beat_s, 3) or 0.001, round((gap - sounding) / beat_s, 3), key))
    return Lick(tuple(made), key, min(400.0, max(20.0, 60.0 / beat_s)), tuning, name)


def _note(note: _Played, score: _Score, beats: float, rest: float, key: Key) -> LickNote:
    """Plain, curl, bend or pre-bend by where its wheel begins, stands longest, and ends."""
    levels = [cents for _, cents in note.cents]
    first, last = levels[0], levels[-1]
    top = _stand(note, score)
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


def _stand(note: _Played, score: _Score) -> float:
    """The height at which the wheel stands longest, of the upper half; its highest where it never stands."""
    edges = [*(at for at, _ in note.cents), note.end]
    stays: dict[int, float] = {}
    for (at, cents), until in zip(note.cents, edges[1:], strict=True):
        level = round(cents / STANDS_CENTS)
        stays[level] = stays.get(level, 0.0) + score.seconds(until) - score.seconds(at)
    highest = max(cents for _, cents in note.cents)
    upper = {level: stay for level, stay in stays.items() if level * STANDS_CENTS >= 0.5 * highest}
    if highest < CURL_LEAST_CENTS or not upper:
        return highest
    level = max(upper, key=lambda level: upper[level])
    members = [cents for _, cents in note.cents if round(cents / STANDS_CENTS) == level]
    return members[-1]


def _read(raw: bytes) -> _Score:
    if len(raw) > MOST_BYTES:
        raise LickError(f"the MIDI file is larger than {MOST_BYTES // 1000} kB: no lick is")
    if raw[:4] != b"MThd" or len(raw) < 14:
        raise LickError("it is no Standard MIDI file: it does not begin with MThd")
    length, form, tracks, division = struct.unpack(">IHHH", raw[4:14])
    if form > 1:
        raise LickError(f"a MIDI file of format {form} is not read here: save it as format 0 or 1")
    if division == 0 or division & 0x8000:
        raise LickError("the MIDI file counts frames and not beats: save it with ticks a quarter note")
    score, at, seen = _Score(division), 8 + length, 0
    while at + 8 <= len(raw) and seen < tracks:
        name, size = raw[at : at + 4], struct.unpack(">I", raw[at + 4 : at + 8])[0]
        body = raw[at + 8 : at + 8 + size]
        if len(body) < size:
            raise LickError("the MIDI file ends in the middle of a track: it is damaged")
        if name == b"MTrk":
            seen += 1
            _Track(body, score).read()
        at += 8 + size
    if seen < tracks:
        raise LickError("the MIDI file ends before its last track: it is damaged")
    return score


class _Track:
    """One track read into the score: `.read()` once."""

    def __init__(self, body: bytes, score: _Score) -> None:
        self._body, self._score = body, score
        self._at = self._tick = self._status = 0
        self._wheel = [0.0] * 16
        self._range = [2.0] * 16
        self._parameter: list[tuple[int, int]] = [(127, 127)] * 16
        self._sounding: dict[tuple[int, int], _Played] = {}

    def read(self) -> None:
        """All events; what still sounds at the end ends there."""
        while self._at < len(self._body):
            self._tick += self._length()
            status = self._byte()
            if status < 0x80:
                status, self._at = self._status, self._at - 1
            if status < 0x80:
                raise LickError("the MIDI file is damaged: data without an event")
            if status == 0xFF:
                if self._meta():
                    break
            elif status in (0xF0, 0xF7):
                self._at += self._length()
            elif status >= 0xF0:
                raise LickError("the MIDI file is damaged: an event that no file may hold")
            else:
                self._status = status
                self._voice(status)
        for note in self._sounding.values():
            note.end = self._tick

    def _byte(self) -> int:
        if self._at >= len(self._body):
            raise LickError("the MIDI file ends in the middle of an event: it is damaged")
        self._at += 1
        return self._body[self._at - 1]

    def _length(self) -> int:
        value = 0
        for _ in range(4):
            byte = self._byte()
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value
        raise LickError("the MIDI file is damaged: a length of more than four bytes")

    def _meta(self) -> bool:
        """Whether the track is over."""
        kind, size = self._byte(), self._length()
        body = self._body[self._at : self._at + size]
        self._at += size
        if kind == _TEMPO and len(body) == 3 and int.from_bytes(body) > 0:
            self._score.tempi.append((self._tick, int.from_bytes(body)))
        return kind == _END

    def _voice(self, status: int) -> None:
        kind, channel = status & 0xF0, status & 0x0F
        one = self._byte()
        two = 0 if kind in (0xC0, 0xD0) else self._byte()
        if max(one, two) > 127:
            raise LickError("the MIDI file is damaged: a value above 127")
        if kind == 0x90 and two and channel != DRUMS:
            self._end_note(channel, one)
            note = _Played(one, self._tick, cents=[(self._tick, self._wheel[channel])])
            self._sounding[channel, one] = note
            self._score.notes.append(note)
        elif kind in (0x80, 0x90):
            self._end_note(channel, one)
        elif kind == 0xE0:
            self._turn(channel, (two << 7 | one) - 8192)
        elif kind == 0xB0:
            self._control(channel, one, two)

    def _end_note(self, channel: int, midi: int) -> None:
        note = self._sounding.pop((channel, midi), None)
        if note is not None:
            note.end = self._tick

    def _turn(self, channel: int, wheel: int) -> None:
        self._wheel[channel] = 100.0 * self._range[channel] * wheel / 8192.0
        for (on, _), note in self._sounding.items():
            if on == channel:
                ticks = [at for at, _ in note.cents]
                del note.cents[bisect_right(ticks, self._tick - 1) :]
                note.cents.append((self._tick, self._wheel[channel]))

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
