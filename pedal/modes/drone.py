"""What the output shall play: a drone or a pulse, from key, sound and step, in hertz; or a lick."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.licks.lick import Lick
from pedal.modes.state import QUIET_DB, DroneSound
from pedal.theory.cents import hz_of
from pedal.theory.chords import TONES
from pedal.theory.pulse import Pulse
from pedal.theory.scale import Key

LOWEST_ROOT_MIDI = 48
"""Roots lie from C3 up: thirds of lower chords growl on a small speaker, and most bends lie above."""
LOUDER_DB = 12.0
"""A plucked string fades at once: so much above the drone's level it is as loud (by ear; the ceiling holds)."""
STEPS = (0, 5, 7)
"""i, iv and v."""


@dataclass(frozen=True, slots=True)
class DroneOrder:
    """What the drone shall sound: hertz (empty: silence), and how loud, dBFS; or a pulse in its place."""

    hz: tuple[float, ...] = ()
    level_db: float = QUIET_DB
    pulse: Pulse | None = None


@dataclass(frozen=True, slots=True)
class LickOrder:
    """Play this lick once; None stops what plays. `tempo` 1 as it is, 0.5 half as fast; `level_db` its peak, dBFS."""

    lick: Lick | None
    tempo: float = 1.0
    level_db: float = -18.0
    a4_hz: float = 440.0


SILENCE = DroneOrder()


def drone_order(key: Key, sound: DroneSound, step: int, *, a4_hz: float, level_db: float = QUIET_DB) -> DroneOrder:
    """The drone on step 0 (i), 1 (iv) or 2 (v) of the key, equal-tempered and in tune with `a4_hz`.

    >>> from pedal.theory.scale import parse_key
    >>> drone_order(parse_key("A minor pentatonic"), "octave", 0, a4_hz=440.0).hz
    (220.0, 440.0)
    """
    return DroneOrder(drone_hz(key, sound, STEPS[step], a4_hz=a4_hz), level_db)


def drone_hz(key: Key, sound: DroneSound, above_tonic: int, *, a4_hz: float) -> tuple[float, ...]:
    """The notes of a chord; the root of each lies from C3 to B3, so that i, iv and v stay together."""
    root = LOWEST_ROOT_MIDI + (key.tonic.semitone + above_tonic - LOWEST_ROOT_MIDI) % 12
    return tuple(hz_of(root + above, a4_hz=a4_hz) for above in TONES[sound])
