"""Notes with their pitch over time -> a Standard MIDI File that any sequencer plays back in tune.

Standard MIDI File format 0, one channel: every note is a note number with pitch bend in 14 bits, the bend's range set
by RPN 0 (MIDI 1.0 Detailed Specification: "Pitch Bend Change", "Registered Parameter Numbers").
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from itertools import chain, pairwise

import numpy as np
from numpy.typing import NDArray

from pedal.theory.cents import midi_of
from pedal.values import frozen

RANGE_SEMITONES = 12
"""Bends of four semitones and a slip of an octave fit; one step is 0.15 cent."""

_TICKS_A_QUARTER, _MICROSECONDS_A_QUARTER = 480, 500_000
_TICKS_A_SECOND = _TICKS_A_QUARTER * 1_000_000 / _MICROSECONDS_A_QUARTER
_CENTRE, _HIGHEST = 8192, 16383
_NOTE_ON, _NOTE_OFF, _CONTROL, _PROGRAM, _BEND = 0x90, 0x80, 0xB0, 0xC0, 0xE0
_CLEAN_ELECTRIC_GUITAR = 27
"""General MIDI 1 counts it as 28, from 1."""

Event = tuple[int, bytes]
"""Ticks since the beginning, and the message."""


@frozen
class Sound:
    """One note: its beginning and end, and the pitch within (`time_s` rising, `hz` > 0, equal lengths, not empty)."""

    onset_s: float
    end_s: float
    time_s: NDArray[np.float64]
    hz: NDArray[np.float64]
    velocity: int = 96


def midi_file(sounds: Iterable[Sound], *, name: str = "") -> bytes:
    """The file's bytes.

    Parameters
    ----------
    sounds : Sounds, taken one after another
        In order of onset. A note that still sounds when the next begins is ended there: it is one string's worth.
    name : str
        Name of the track.

    Returns
    -------
    bytes
        The pitch as it sounded, to 0.08 cent and 0.6 ms, for an instrument tuned to A4 = 440 Hz. Pitch further than an
        octave from where a note began stays at the octave.
    """
    track = bytearray()
    for step in _with_steps(chain(_preamble(name), _notes(sounds))):
        track += step
    track += b"\x00\xff\x2f\x00"
    head = b"MThd" + struct.pack(">IHHH", 6, 0, 1, _TICKS_A_QUARTER)
    return head + b"MTrk" + struct.pack(">I", len(track)) + track


def _preamble(name: str) -> Iterator[Event]:
    words = name.encode("ascii", "replace")
    yield 0, b"\xff\x03" + _variable(len(words)) + words
    yield 0, b"\xff\x51\x03" + _MICROSECONDS_A_QUARTER.to_bytes(3, "big")
    yield 0, bytes((_PROGRAM, _CLEAN_ELECTRIC_GUITAR))
    # RPN 0, its value in semitones and cents, then the null RPN, so that no later data entry moves it.
    for controller, value in ((101, 0), (100, 0), (6, RANGE_SEMITONES), (38, 0), (101, 127), (100, 127)):
        yield 0, bytes((_CONTROL, controller, value))


def _notes(sounds: Iterable[Sound]) -> Iterator[Event]:
    for sound, after in pairwise(chain(sounds, (None,))):
        if sound is None:  # only the last one has nothing after it
            return
        end_s = sound.end_s if after is None else min(sound.end_s, after.onset_s)
        first, last = _ticks(sound.onset_s), _ticks(end_s)
        note = min(127, max(0, round(midi_of(float(sound.hz[0])))))
        previous = -1
        for time_s, hz in zip(sound.time_s, sound.hz, strict=True):
            tick, value = min(max(first, _ticks(float(time_s))), last), _bend(float(hz), note)
            if value != previous:
                yield tick if previous >= 0 else first, bytes((_BEND, value & 0x7F, value >> 7))
            if previous < 0:  # the bend of its beginning is there before the note is
                yield first, bytes((_NOTE_ON, note, sound.velocity))
            previous = value
        yield last, bytes((_NOTE_OFF, note, 64))


def _bend(hz: float, note: int) -> int:
    """The 14 bits that move a note number to a frequency."""
    return min(_HIGHEST, max(0, round(_CENTRE + (midi_of(hz) - note) / RANGE_SEMITONES * _CENTRE)))


def _ticks(seconds: float) -> int:
    return max(0, round(seconds * _TICKS_A_SECOND))


def _with_steps(events: Iterable[Event]) -> Iterator[bytes]:
    """Time only goes on: an event that a damaged log puts before the last one comes with it."""
    before = 0
    for tick, message in events:
        yield _variable(max(0, tick - before)) + message
        before = max(before, tick)


def _variable(number: int) -> bytes:
    """A variable-length quantity: seven bits a byte, the highest bit set on all but the last."""
    found = [number & 0x7F]
    while number := number >> 7:
        found.append(0x80 | number & 0x7F)
    return bytes(reversed(found))
