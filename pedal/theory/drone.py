"""Key and chord -> the notes of the drone, in tune with A4."""

from __future__ import annotations

from typing import Literal, get_args

from pedal.theory.cents import A4_HZ, hz_of
from pedal.theory.degree import semitones_of
from pedal.theory.scale import Key

DroneChord = Literal["root", "fifth", "octave", "minor", "major", "dominant"]
DroneDegree = Literal["1", "4", "5"]
CHORDS: dict[str, tuple[int, ...]] = {
    "root": (0,),
    "fifth": (0, 7),
    "octave": (0, 12),
    "minor": (0, 7, 12, 15),
    "major": (0, 7, 12, 16),
    "dominant": (0, 7, 10, 16),
}
"""Semitones above the drone's root; thirds lie an octave up, where a low chord stays clear (common practice)."""
LOWEST_ROOT_MIDI = 40
"""E2: the drone's root lies in the octave from here up."""
PROGRESSION: tuple[DroneDegree, ...] = ("1", "4", "5")
"""The i-iv-v of the key, in the order the switch goes through it."""


class DroneError(ValueError):
    """A chord or degree that the drone does not know."""


def chord_of(key: Key) -> DroneChord:
    """The chord that belongs to a key: minor where the third is flat, dominant where the seventh is, else major."""
    inside = {semitones_of(degree) for degree in key.degrees}
    if 3 in inside and 4 not in inside:
        return "minor"
    return "dominant" if 10 in inside else "major"


def drone_notes(
    key: Key, chord: str = "root", *, degree: str = "1", a4_hz: float = A4_HZ
) -> tuple[float, ...]:
    """Frequencies of the drone in hertz, lowest first.

    Parameters
    ----------
    key : Key
        Its tonic is the root of degree "1".
    chord : str
        One of `CHORDS`, or "key" for the chord that belongs to the key.
    degree : str
        "1", "4" or "5": the i, iv or v of the key.
    a4_hz : float
        Concert pitch, > 0.

    Raises
    ------
    DroneError
        For a chord or degree that is not known.

    Examples
    --------
    >>> from pedal.theory.scale import parse_key
    >>> [round(hz, 2) for hz in drone_notes(parse_key("G minor pentatonic"), "fifth")]
    [98.0, 146.83]
    """
    chord = chord_of(key) if chord == "key" else chord
    if chord not in CHORDS:
        raise DroneError(f"{chord!r} is no drone: choose key, {', '.join(CHORDS)}")
    if degree not in get_args(DroneDegree):
        raise DroneError(f"{degree!r} is no degree of the drone: choose 1, 4 or 5")
    root = LOWEST_ROOT_MIDI + (key.tonic.semitone + semitones_of(degree) - LOWEST_ROOT_MIDI) % 12
    return tuple(hz_of(root + semitones, a4_hz=a4_hz) for semitones in CHORDS[chord])
