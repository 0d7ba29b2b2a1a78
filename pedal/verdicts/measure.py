"""Note + key -> the note in the words of music: rest note and degree named, heights in cents above the rest."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.notes.note import Note
from pedal.theory.cents import cents_between, hz_of, midi_of
from pedal.verdicts.aim import Aim


@dataclass(frozen=True, slots=True)
class Measure:
    """Heights in cents above the rest note as heard, `rest_midi` and `rest_cents` its name and own error."""

    rest_midi: int
    rest_cents: float
    bend: float
    first: float
    peak: float
    final: float


def rest_midi_of(hz: float, aim: Aim) -> int:
    """The fretted note that a rest pitch is: the nearest on the neck."""
    return max(aim.lowest_midi, round(midi_of(hz, a4_hz=aim.a4_hz)))


def measure(note: Note, aim: Aim) -> Measure | None:
    """The heights of a note above its rest, None if it never rested."""
    rest, hold = note.rest_hz, note.hold_hz
    if rest is None or hold is None:
        return None
    midi = rest_midi_of(rest, aim)
    return Measure(
        midi,
        cents_between(hz_of(midi, a4_hz=aim.a4_hz), rest),
        cents_between(rest, hold),
        cents_between(rest, note.first_hz or hold),
        cents_between(rest, note.peak_hz or hold),
        cents_between(rest, note.final_hz or hold),
    )


def absolute_cents(hz: float, target_midi: int, aim: Aim) -> float:
    """How far a pitch lies above the equal-tempered target, as a drone or a band would hear it."""
    return cents_between(hz_of(target_midi, a4_hz=aim.a4_hz), hz)
