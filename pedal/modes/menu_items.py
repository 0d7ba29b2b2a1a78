"""What the menu can change: a row each, with its choices and how a choice is put into the settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import get_args

from pedal.modes.memory import NEAR_PER_TRUE
from pedal.modes.place import Backing, BoardSettings, Density, DroneSound, Follow, Order, tuning_words
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
    place: BoardSettings


@dataclass(frozen=True, slots=True)
class Item:
    """One row of the menu: `value` says what stands, `choices` what may stand, the present one among them."""

    name: str
    value: Callable[[BoardSettings], str]
    choices: Callable[[BoardSettings], list[Choice]]


def _keys(place: BoardSettings) -> list[Choice]:
    tonics = [place.key.tonic if tonic.semitone == place.key.tonic.semitone else tonic for tonic in TONICS]
    return [Choice(str(tonic), replace(place, key=replace(place.key, tonic=tonic))) for tonic in tonics]


def _scales(place: BoardSettings) -> list[Choice]:
    keys = [parse_key(f"{place.key.tonic} {scale}") for scale in SCALES]
    own: list[Key] = [] if place.key.scale in SCALES else [place.key]
    return [Choice(key.scale, replace(place, key=key)) for key in (*own, *keys)]


def _positions(place: BoardSettings) -> list[Choice]:
    return [Choice(str(number), replace(place, position=number)) for number in place.held_positions()]


def tuning_name(words: str) -> str:
    """The trade's name of a tuning, where it has one: "E2 A2 D3 G3 B3 E4" -> "standard"."""
    wanted = parse_tuning(words)
    return next((name for name, notes in TUNINGS.items() if parse_tuning(notes) == wanted), words)


def _tunings(place: BoardSettings) -> list[Choice]:
    now = tuning_words(place.neck.tuning)
    offered = [parse_tuning(words) for words in place.tunings]
    own = [] if place.neck.tuning in offered else [place.neck.tuning]
    tunings = {tuning_words(tuning): tuning for tuning in (*own, *offered)} or {now: place.neck.tuning}
    return [
        Choice(tuning_name(words), replace(place, neck=replace(place.neck, tuning=tuning)))
        for words, tuning in tunings.items()
    ]


def _capos(place: BoardSettings) -> list[Choice]:
    neck = place.neck
    frets = range(max(min(HIGHEST_CAPO, neck.frets - 1), neck.capo) + 1)
    return [Choice(_capo(fret), replace(place, neck=Neck(neck.tuning, fret, neck.frets))) for fret in frets]


def _capo(fret: int) -> str:
    return f"fret {fret}" if fret else "none"


def _a4s(place: BoardSettings) -> list[Choice]:
    return [Choice(f"{hz:g} Hz", replace(place, a4_hz=hz)) for hz in sorted({*A4_CHOICES_HZ, place.a4_hz})]


def _tolerances(place: BoardSettings) -> list[Choice]:
    choices = []
    for cents in sorted({*TOLERANCES_CENTS, place.bands.true_cents}):
        near = place.bands.near_cents if cents == place.bands.true_cents else cents * NEAR_PER_TRUE
        bands = replace(place.bands, true_cents=cents, near_cents=near)
        choices.append(Choice(f"±{cents:g}", replace(place, bands=bands)))
    return choices


def _orders(place: BoardSettings) -> list[Choice]:
    return [Choice(order.replace("_", " "), replace(place, order=order)) for order in _ORDERS]


def _drones(place: BoardSettings) -> list[Choice]:
    sounds = [Choice(sound, replace(place, drone=sound, drone_on=True)) for sound in _SOUNDS]
    return [Choice("off", replace(place, drone_on=False)), *sounds]


def _backings(place: BoardSettings) -> list[Choice]:
    return [Choice(word.replace("_", " "), replace(place, backing=word)) for word in _BACKINGS]


def _tempos(place: BoardSettings) -> list[Choice]:
    tempos = sorted({*range(SLOWEST_BPM, FASTEST_BPM + 1, TEMPO_STEP), place.bpm})
    return [Choice(f"{bpm} bpm", replace(place, bpm=bpm)) for bpm in tempos]


def _feels(place: BoardSettings) -> list[Choice]:
    return [Choice(feel, replace(place, feel=feel)) for feel in FEELS]


def _follows(place: BoardSettings) -> list[Choice]:
    return [Choice(f"the {word}", replace(place, follow=word)) for word in _FOLLOWS]


def _volumes(place: BoardSettings) -> list[Choice]:
    """Steps of 3 dB, hardly more than the ear notices, from a whisper up to the ceiling."""
    steps = {db for db in VOLUMES_DB if db <= place.ceiling_db}
    return [Choice(_volume(db), replace(place, drone_db=db)) for db in sorted({*steps, place.drone_db})]


def _volume(db: float) -> str:
    return f"{db:g} dB"


def _densities(place: BoardSettings) -> list[Choice]:
    return [Choice(density, replace(place, density=density)) for density in _DENSITIES]


def _devices(place: BoardSettings) -> list[Choice]:
    names = dict.fromkeys(("", *place.devices, place.device))
    return [Choice(name or OWN_DEVICE, replace(place, device=name)) for name in names]


def _crossed(place: BoardSettings) -> list[Choice]:
    kept = Choice(_crossed_off(place), place)
    return [kept, Choice("bring back", replace(place, crossed_off=frozenset()))] if place.crossed_off else [kept]


def _crossed_off(place: BoardSettings) -> str:
    return f"{len(place.crossed_off)} bend{'' if len(place.crossed_off) == 1 else 's'}"


ITEMS = (
    Item("key", lambda place: str(place.key.tonic), _keys),
    Item("scale", lambda place: place.key.scale, _scales),
    Item("position", lambda place: str(place.position), _positions),
    Item("tuning", lambda place: tuning_name(tuning_words(place.neck.tuning)), _tunings),
    Item("capo", lambda place: _capo(place.neck.capo), _capos),
    Item("A4", lambda place: f"{place.a4_hz:g} Hz", _a4s),
    Item("tolerance", lambda place: f"±{place.bands.true_cents:g}", _tolerances),
    Item("drone", lambda place: place.drone if place.drone_on else "off", _drones),
    Item("backing", lambda place: place.backing.replace("_", " "), _backings),
    Item("tempo", lambda place: f"{place.bpm} bpm", _tempos),
    Item("feel", lambda place: place.feel, _feels),
    Item("bends to", lambda place: f"the {place.follow}", _follows),
    Item("volume", lambda place: _volume(place.drone_db), _volumes),
    Item("targets", lambda place: place.order.replace("_", " "), _orders),
    Item("crossed", _crossed_off, _crossed),
    Item("display", lambda place: place.density, _densities),
    Item("device", lambda place: place.device or OWN_DEVICE, _devices),
)
