"""Notes with their pitch over time -> a Standard MIDI File that any sequencer plays back in tune.

Standard MIDI File format 0, one channel, written by mido: every note is a note number with pitch bend in 14 bits, the
bend's range set by RPN 0 (MIDI 1.0 Detailed Specification: "Pitch Bend Change", "Registered Parameter Numbers").
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, pairwise

import mido
import numpy as np
from numpy.typing import NDArray

from pedal.theory.cents import midi_of

RANGE_SEMITONES = 12
"""Bends of four semitones and a slip of an octave fit; one step is 0.15 cent."""

_TICKS_A_QUARTER, _MICROSECONDS_A_QUARTER = 480, 500_000
_TICKS_A_SECOND = _TICKS_A_QUARTER * 1_000_000 / _MICROSECONDS_A_QUARTER
_LOWEST, _HIGHEST = -8192, 8191
_CLEAN_ELECTRIC_GUITAR = 27
"""General MIDI 1 counts it as 28, from 1."""

Event = tuple[int, mido.Message]
"""Ticks since the beginning, and the message."""


@dataclass(frozen=True, slots=True)
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
    # mido goes through a track once: handed on as they are made, an hour's messages never lie in memory together.
    file = mido.MidiFile(
        type=0, ticks_per_beat=_TICKS_A_QUARTER, tracks=[_with_steps(chain(_preamble(name), _notes(sounds)))]
    )
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def _preamble(name: str) -> Iterator[Event]:
    yield 0, mido.MetaMessage("track_name", name=name.encode("ascii", "replace").decode())
    yield 0, mido.MetaMessage("set_tempo", tempo=_MICROSECONDS_A_QUARTER)
    yield 0, mido.Message("program_change", program=_CLEAN_ELECTRIC_GUITAR)
    # RPN 0, its value in semitones and cents, then the null RPN, so that no later data entry moves it.
    for control, value in ((101, 0), (100, 0), (6, RANGE_SEMITONES), (38, 0), (101, 127), (100, 127)):
        yield 0, mido.Message("control_change", control=control, value=value)


def _notes(sounds: Iterable[Sound]) -> Iterator[Event]:
    for sound, after in pairwise(chain(sounds, (None,))):
        if sound is None:  # only the last one has nothing after it
            return
        end_s = sound.end_s if after is None else min(sound.end_s, after.onset_s)
        first, last = _ticks(sound.onset_s), _ticks(end_s)
        note = min(127, max(0, round(midi_of(float(sound.hz[0])))))
        previous: int | None = None
        for time_s, hz in zip(sound.time_s, sound.hz, strict=True):
            tick, bend = min(max(first, _ticks(float(time_s))), last), _bend(float(hz), note)
            if bend != previous:
                yield tick if previous is not None else first, mido.Message("pitchwheel", pitch=bend)
            if previous is None:  # the bend of its beginning is there before the note is
                yield first, mido.Message("note_on", note=note, velocity=sound.velocity)
            previous = bend
        yield last, mido.Message("note_off", note=note)


def _bend(hz: float, note: int) -> int:
    """The 14 bits that move a note number to a frequency."""
    return min(_HIGHEST, max(_LOWEST, round((midi_of(hz) - note) / RANGE_SEMITONES * -_LOWEST)))


def _ticks(seconds: float) -> int:
    return max(0, round(seconds * _TICKS_A_SECOND))


def _with_steps(events: Iterable[Event]) -> Iterator[mido.Message]:
    """Time only goes on: an event that a damaged log puts before the last one comes with it."""
    before = 0
    for tick, message in events:
        yield message.copy(time=max(0, tick - before))
        before = max(before, tick)
