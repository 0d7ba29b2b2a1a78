"""What the menu can change: a row each, with its choices and how a choice is put into the settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import get_args

from pedal.modes.memory import NEAR_PER_TRUE
from pedal.modes.state import Backing, Density, DroneSound, Follow, Order, PedalState, tuning_words
from pedal.theory.neck import TUNINGS, Neck, parse_tuning
from pedal.theory.pulse import FASTEST_BPM, FEELS, SLOWEST_BPM
from pedal.theory.scale import SCALES, Key, parse_key
from pedal.theory.spelling import PitchClass

TONICS = tuple(
    PitchClass(letter, alteration)
    for letter, alteration in (
        ("C", 0), ("D", -1), ("D", 0), ("E", -1), ("E", 0), ("F", 0), ("F", 1), ("G", 0), ("A", -1), ("A", 0),
        ("B", -1), ("B", 0),
    )
)  # fmt: skip
"""The tonics a foot walks through, spelled with fewest accidentals."""
HIGHEST_CAPO = 12
A4_CHOICES_HZ = tuple(float(hz) for hz in range(430, 451))
TOLERANCES_CENTS = (5.0, 8.0, 10.0, 12.0, 15.0, 20.0)
VOLUMES_DB = tuple(float(db) for db in range(-48, 1, 3))
TEMPO_STEP = 5
OWN_DEVICE = "system's own"
_ORDERS: tuple[Order, ...] = get_args(Order)
_SOUNDS: tuple[DroneSound, ...] = get_args(DroneSound)
_BACKINGS: tuple[Backing, ...] = get_args(Backing)
_FOLLOWS: tuple[Follow, ...] = get_args(Follow)
_DENSITIES: tuple[Density, ...] = get_args(Density)


@dataclass(frozen=True, slots=True)
class Choice:
    """One value: its word on the screen, and the settings with it."""

    word: str
    state: PedalState


@dataclass(frozen=True, slots=True)
class Item:
    """One row of the menu: `value` says what stands, `choices` what may stand, the present one among them."""

    name: str
    value: Callable[[PedalState], str]
    choices: Callable[[PedalState], list[Choice]]


def _keys(state: PedalState) -> list[Choice]:
    tonics = [state.key.tonic if tonic.semitone == state.key.tonic.semitone else tonic for tonic in TONICS]
    return [Choice(str(tonic), replace(state, key=replace(state.key, tonic=tonic))) for tonic in tonics]


def _scales(state: PedalState) -> list[Choice]:
    keys = [parse_key(f"{state.key.tonic} {scale}") for scale in SCALES]
    own: list[Key] = [] if state.key.scale in SCALES else [state.key]
    return [Choice(key.scale, replace(state, key=key)) for key in (*own, *keys)]


def _positions(state: PedalState) -> list[Choice]:
    return [Choice(str(number), replace(state, position=number)) for number in state.held_positions()]


def tuning_name(words: str) -> str:
    """The trade's name of a tuning, where it has one: "E2 A2 D3 G3 B3 E4" -> "standard"."""
    wanted = parse_tuning(words)
    return next((name for name, notes in TUNINGS.items() if parse_tuning(notes) == wanted), words)


def _tunings(state: PedalState) -> list[Choice]:
    now = tuning_words(state.neck.tuning)
    offered = [parse_tuning(words) for words in state.tunings]
    own = [] if state.neck.tuning in offered else [state.neck.tuning]
    tunings = {tuning_words(tuning): tuning for tuning in (*own, *offered)} or {now: state.neck.tuning}
    return [
        Choice(tuning_name(words), replace(state, neck=replace(state.neck, tuning=tuning)))
        for words, tuning in tunings.items()
    ]


def _capos(state: PedalState) -> list[Choice]:
    neck = state.neck
    frets = range(max(min(HIGHEST_CAPO, neck.frets - 1), neck.capo) + 1)
    return [Choice(_capo(fret), replace(state, neck=Neck(neck.tuning, fret, neck.frets))) for fret in frets]


def _capo(fret: int) -> str:
    return f"fret {fret}" if fret else "none"


def _a4s(state: PedalState) -> list[Choice]:
    return [Choice(f"{hz:g} Hz", replace(state, a4_hz=hz)) for hz in sorted({*A4_CHOICES_HZ, state.a4_hz})]


def _tolerances(state: PedalState) -> list[Choice]:
    choices = []
    for cents in sorted({*TOLERANCES_CENTS, state.bands.true_cents}):
        near = state.bands.near_cents if cents == state.bands.true_cents else cents * NEAR_PER_TRUE
        bands = replace(state.bands, true_cents=cents, near_cents=near)
        choices.append(Choice(f"±{cents:g}", replace(state, bands=bands)))
    return choices


def _orders(state: PedalState) -> list[Choice]:
    return [Choice(order.replace("_", " "), replace(state, order=order)) for order in _ORDERS]


def _drones(state: PedalState) -> list[Choice]:
    sounds = [Choice(sound, replace(state, drone=sound, drone_on=True)) for sound in _SOUNDS]
    return [Choice("off", replace(state, drone_on=False)), *sounds]


def _backings(state: PedalState) -> list[Choice]:
    return [Choice(word.replace("_", " "), replace(state, backing=word)) for word in _BACKINGS]


def _tempos(state: PedalState) -> list[Choice]:
    tempos = sorted({*range(SLOWEST_BPM, FASTEST_BPM + 1, TEMPO_STEP), state.bpm})
    return [Choice(f"{bpm} bpm", replace(state, bpm=bpm)) for bpm in tempos]


def _feels(state: PedalState) -> list[Choice]:
    return [Choice(feel, replace(state, feel=feel)) for feel in FEELS]


def _follows(state: PedalState) -> list[Choice]:
    return [Choice(f"the {word}", replace(state, follow=word)) for word in _FOLLOWS]


def _volumes(state: PedalState) -> list[Choice]:
    """Steps of 3 dB, hardly more than the ear notices, from a whisper up to the ceiling."""
    steps = {db for db in VOLUMES_DB if db <= state.ceiling_db}
    return [Choice(_volume(db), replace(state, drone_db=db)) for db in sorted({*steps, state.drone_db})]


def _volume(db: float) -> str:
    return f"{db:g} dB"


def _densities(state: PedalState) -> list[Choice]:
    return [Choice(density, replace(state, density=density)) for density in _DENSITIES]


def _devices(state: PedalState) -> list[Choice]:
    names = dict.fromkeys(("", *state.devices, state.device))
    return [Choice(name or OWN_DEVICE, replace(state, device=name)) for name in names]


def _crossed(state: PedalState) -> list[Choice]:
    kept = Choice(_crossed_off(state), state)
    return [kept, Choice("bring back", replace(state, crossed_off=frozenset()))] if state.crossed_off else [kept]


def _crossed_off(state: PedalState) -> str:
    return f"{len(state.crossed_off)} bend{'' if len(state.crossed_off) == 1 else 's'}"


ITEMS = (
    Item("key", lambda state: str(state.key.tonic), _keys),
    Item("scale", lambda state: state.key.scale, _scales),
    Item("position", lambda state: str(state.position), _positions),
    Item("tuning", lambda state: tuning_name(tuning_words(state.neck.tuning)), _tunings),
    Item("capo", lambda state: _capo(state.neck.capo), _capos),
    Item("A4", lambda state: f"{state.a4_hz:g} Hz", _a4s),
    Item("tolerance", lambda state: f"±{state.bands.true_cents:g}", _tolerances),
    Item("drone", lambda state: state.drone if state.drone_on else "off", _drones),
    Item("backing", lambda state: state.backing.replace("_", " "), _backings),
    Item("tempo", lambda state: f"{state.bpm} bpm", _tempos),
    Item("feel", lambda state: state.feel, _feels),
    Item("bends to", lambda state: f"the {state.follow}", _follows),
    Item("volume", lambda state: _volume(state.drone_db), _volumes),
    Item("targets", lambda state: state.order.replace("_", " "), _orders),
    Item("crossed", _crossed_off, _crossed),
    Item("display", lambda state: state.density, _densities),
    Item("device", lambda state: state.device or OWN_DEVICE, _devices),
)
