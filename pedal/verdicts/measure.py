"""Note + fret -> the note in the words of music: rest note and degree named, heights in cents above the rest."""

from __future__ import annotations

from pedal.notes.note import Note
from pedal.theory.cents import cents_between, hz_of
from pedal.values import frozen
from pedal.verdicts.aim import Aim
from pedal.verdicts.fret import GuitarOffset, find_fret, sharp_cents


@frozen
class Measure:
    """Heights in cents above the rest note; `rest_midi` and `rest_cents` its name and own error.

    rest_heard : False where the fretted pitch is known by the grid and the guitar's offset alone.
    """

    rest_midi: int
    rest_cents: float
    bend: float
    first: float
    peak: float
    final: float
    rest_heard: bool


def measure(note: Note, aim: Aim, guitar: GuitarOffset) -> Measure | None:
    """The heights of a note above its rest, None if nothing tells where it rested."""
    fret, hold = find_fret(note, aim, guitar), note.hold_hz
    if fret is None or hold is None:
        return None
    # A quick bend or curl is over before its pluck has settled.
    hold *= 2.0 ** (-sharp_cents(note, note.rise_s + 0.5 * note.hold_s) / 1200.0)
    return Measure(
        fret.midi,
        cents_between(hz_of(fret.midi, a4_hz=aim.a4_hz), fret.hz),
        cents_between(fret.hz, hold),
        cents_between(fret.hz, note.first_hz or hold),
        cents_between(fret.hz, note.peak_hz or hold),
        cents_between(fret.hz, note.final_hz or hold),
        fret.heard,
    )


def absolute_cents(hz: float, target_midi: int, aim: Aim) -> float:
    """How far a pitch lies above the equal-tempered target, as a drone or a band would hear it."""
    return cents_between(hz_of(target_midi, a4_hz=aim.a4_hz), hz)
