"""What the menu can change: a row each, with its choices and how a choice is put into the settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import get_args

from pedal.modes.memory import NEAR_PER_TRUE
from pedal.modes.place import BoardSettings, Density, DroneSound, Order, tuning_words
from pedal.modes.rungs import Rung
from pedal.practice.course import MINUTES
from pedal.theory.neck import TUNINGS, Neck, parse_tuning
from pedal.theory.scale import SCALES, Key, parse_key, usual_tonic

HIGHEST_CAPO = 12
A4_CHOICES_HZ = tuple(float(hz) for hz in range(430, 451))
TOLERANCES_CENTS = (5.0, 8.0, 10.0, 12.0, 15.0, 20.0)
VOLUMES_DB = tuple(float(db) for db in range(-48, 1, 3))
OWN_DEVICE = "system's own"
GUEST = "guest"
"""Who plays and is not among the names of the settings."""
_ORDERS: tuple[Order, ...] = get_args(Order)
_SOUNDS: tuple[DroneSound, ...] = get_args(DroneSound)
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


def in_key_of(key: Key, semitone: int) -> Key:
    """The same scale on another tonic, spelled as players say it; the player's own spelling where it is the same."""
    if semitone % 12 == key.tonic.semitone:
        return key
    return replace(key, tonic=usual_tonic(semitone, key.degrees))


def _keys(place: BoardSettings) -> list[Choice]:
    keys = [in_key_of(place.key, semitone) for semitone in range(12)]
    return [Choice(str(key.tonic), replace(place, key=key)) for key in keys]


def _scales(place: BoardSettings) -> list[Choice]:
    own: list[Key] = [] if place.key.scale in SCALES else [place.key]
    return [Choice(key.scale, replace(place, key=key)) for key in (*own, *(_in_scale(place.key, s) for s in SCALES))]


def _in_scale(key: Key, scale: str) -> Key:
    """Another scale on the same tonic; between minor and major it may have another name (C# minor, Db major)."""
    other = parse_key(f"{key.tonic} {scale}")
    if ("b3" in other.degrees) == ("b3" in key.degrees):
        return other
    return replace(other, tonic=usual_tonic(key.tonic.semitone, other.degrees))


def _modes(place: BoardSettings) -> list[Choice]:
    return [Choice(mode, replace(place, mode=mode)) for mode in place.modes]


def _players(place: BoardSettings) -> list[Choice]:
    """The players of the settings, and whoever is none of them."""
    names = dict.fromkeys((*place.players, "", place.player))
    return [Choice(name or GUEST, replace(place, player=name)) for name in names]


def bend_words(place: BoardSettings) -> str:
    """The bend to practise, such as "(3)8▸G4"; "any" where none is asked for."""
    rung = _rung_of(place)
    return "any" if rung is None else f"({rung.string}){rung.fret}▸{rung.target}"


def _rung_of(place: BoardSettings) -> Rung | None:
    if place.bend is None:
        return None
    return next((rung for rung in place.rungs() if (rung.string, rung.fret) == place.bend), None)


def _bends(place: BoardSettings) -> list[Choice]:
    open_rungs = [rung for rung in place.rungs() if rung.crossing not in place.crossed_off]
    offered = [replace(place, bend=(rung.string, rung.fret)) for rung in open_rungs]
    return [Choice(bend_words(one), one) for one in offered] or [Choice("any", place)]


def _crossing(place: BoardSettings) -> list[Choice]:
    """Crossing off the bend that is asked for, for a pedal that has no switch for it."""
    rung = _rung_of(place)
    if rung is None:
        return [Choice("no bend", place)]
    off = replace(place, crossed_off=place.crossed_off | {rung.crossing}, bend=None)
    return [Choice(f"keep {bend_words(place)}", place), Choice("never again", off)]


def _crossing_words(place: BoardSettings) -> str:
    return "no bend" if _rung_of(place) is None else bend_words(place)


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


def _repeats(place: BoardSettings) -> list[Choice]:
    return [Choice(_repeat(on), replace(place, repeat=on)) for on in (False, True)]


def _repeat(on: object) -> str:
    return "until true" if on else "once"


def _rounds(place: BoardSettings) -> list[Choice]:
    return [Choice(f"{minutes} min", replace(place, round_minutes=minutes)) for minutes in MINUTES]


def _drones(place: BoardSettings) -> list[Choice]:
    sounds = [Choice(sound, replace(place, drone=sound, drone_on=True)) for sound in _SOUNDS]
    return [Choice("off", replace(place, drone_on=False)), *sounds]


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
    """Each of them can be brought back alone: (string) fret, and how far."""
    kept = Choice(_crossed_off(place), place)
    if not place.crossed_off:
        return [kept]
    each = [
        Choice(f"back ({one.string}){one.fret} +{one.semitones}", replace(place, crossed_off=place.crossed_off - {one}))
        for one in sorted(place.crossed_off)
    ]
    return [kept, *each, Choice("all back", replace(place, crossed_off=frozenset()))]


def _crossed_off(place: BoardSettings) -> str:
    return f"{len(place.crossed_off)} bend{'' if len(place.crossed_off) == 1 else 's'}"


ITEMS = (
    Item("key", lambda place: str(place.key.tonic), _keys),
    Item("bend", bend_words, _bends),
    Item("mode", lambda place: place.mode, _modes),
    Item("position", lambda place: str(place.position), _positions),
    Item("cross off", _crossing_words, _crossing),
    Item("crossed", _crossed_off, _crossed),
    Item("player", lambda place: place.player or GUEST, _players),
    Item("drone", lambda place: place.drone if place.drone_on else "off", _drones),
    Item("round", lambda place: f"{place.round_minutes} min", _rounds),
    Item("scale", lambda place: place.key.scale, _scales),
    Item("tolerance", lambda place: f"±{place.bands.true_cents:g}", _tolerances),
    Item("targets", lambda place: place.order.replace("_", " "), _orders),
    Item("ladder", lambda place: _repeat(place.repeat), _repeats),
    Item("tuning", lambda place: tuning_name(tuning_words(place.neck.tuning)), _tunings),
    Item("capo", lambda place: _capo(place.neck.capo), _capos),
    Item("A4", lambda place: f"{place.a4_hz:g} Hz", _a4s),
    Item("volume", lambda place: _volume(place.drone_db), _volumes),
    Item("display", lambda place: place.density, _densities),
    Item("device", lambda place: place.device or OWN_DEVICE, _devices),
)
"""What is wanted while playing comes first, what is set once a week last."""
