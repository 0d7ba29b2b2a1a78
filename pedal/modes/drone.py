"""Key, sound and step -> what the drone plays, in hertz."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.modes.place import QUIET_DB, DroneSound
from pedal.theory.cents import hz_of
from pedal.theory.scale import Key

LOWEST_ROOT_MIDI = 48
"""Roots lie from C3 up: thirds of lower chords growl on a small speaker, and most bends lie above."""
SOUNDS: dict[DroneSound, tuple[int, ...]] = {
    "root": (0,),
    "fifth": (0, 7),
    "octave": (0, 12),
    "minor": (0, 3, 7),
    "major": (0, 4, 7),
    "dominant": (0, 4, 7, 10),
}
"""Semitones above the root."""
CHORD_KINDS: dict[DroneSound, str] = {
    "root": "",
    "fifth": "5",
    "octave": "",
    "minor": "m",
    "major": "",
    "dominant": "7",
}
"""What stands after the root in a chord's name: a fifth without a third is a "5" chord, a root alone its note."""
STEPS = (0, 5, 7)
"""i, iv and v."""
STEP_NAMES = ("i", "iv", "v")


@dataclass(frozen=True, slots=True)
class DroneOrder:
    """What the drone shall sound: frequencies in hertz (empty: silence), and how loud, dBFS."""

    hz: tuple[float, ...] = ()
    level_db: float = QUIET_DB


SILENCE = DroneOrder()


def drone_order(key: Key, sound: DroneSound, step: int, *, a4_hz: float, level_db: float = QUIET_DB) -> DroneOrder:
    """The drone on step 0 (i), 1 (iv) or 2 (v) of the key, equal-tempered and in tune with `a4_hz`.

    The root of every step lies from C3 to B3, so that i, iv and v stay together.

    >>> from pedal.theory.scale import parse_key
    >>> drone_order(parse_key("A minor pentatonic"), "octave", 0, a4_hz=440.0).hz
    (220.0, 440.0)
    """
    root = LOWEST_ROOT_MIDI + (key.tonic.semitone + STEPS[step] - LOWEST_ROOT_MIDI) % 12
    return DroneOrder(tuple(hz_of(root + above, a4_hz=a4_hz) for above in SOUNDS[sound]), level_db)


def chord_word(key: Key, sound: DroneSound, step: int) -> str:
    """What players call it: the root in the key's spelling and the kind.

    >>> from pedal.theory.scale import parse_key
    >>> chord_word(parse_key("Bb minor"), "minor", 1), chord_word(parse_key("E blues"), "dominant", 2)
    ('Ebm', 'B7')
    """
    return root_word(key, STEPS[step]) + CHORD_KINDS[sound]


def root_word(key: Key, semitones: int) -> str:
    """The note so far above the tonic, without its octave."""
    return key.spell(LOWEST_ROOT_MIDI + key.tonic.semitone + semitones).rstrip("0123456789-")
