"""What the menu can change: a row each, with its choices and how a choice is put into the settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import get_args

from pedal.modes.lick_shelf import NEW, KeptLick, chosen, first_notes, free_number, original, put
from pedal.modes.memory import NEAR_PER_TRUE
from pedal.modes.state import Backing, Density, DroneSound, Follow, Order, PedalState
from pedal.practice.course import MINUTES
from pedal.theory.neck import TUNINGS, Neck, parse_tuning, tuning_words
from pedal.theory.pulse import FASTEST_BPM, FEELS, SLOWEST_BPM
from pedal.theory.scale import SCALES, Key, parse_key, usual_tonic
from pedal.values import frozen

HIGHEST_CAPO = 12
A4_CHOICES_HZ = tuple(float(hz) for hz in range(430, 451))
TOLERANCES_CENTS = (5.0, 8.0, 10.0, 12.0, 15.0, 20.0)
VOLUMES_DB = tuple(float(db) for db in range(-48, 1, 3))
TEMPO_STEP = 5
OWN_DEVICE = "system's own"
GUEST = "guest"
"""Who plays and is not among the names of the settings."""
_ORDERS: tuple[Order, ...] = get_args(Order)
_SOUNDS: tuple[DroneSound, ...] = get_args(DroneSound)
_BACKINGS: tuple[Backing, ...] = get_args(Backing)
_FOLLOWS: tuple[Follow, ...] = get_args(Follow)
_DENSITIES: tuple[Density, ...] = get_args(Density)


@frozen
class Choice:
    """One value: its word on the screen, and the settings with it."""

    word: str
    state: PedalState


@frozen
class MenuItem:
    """One row of the menu: `value` says what stands, `choices` what may stand, the present one among them."""

    name: str
    value: Callable[[PedalState], str]
    choices: Callable[[PedalState], list[Choice]]


def in_key_of(key: Key, semitone: int) -> Key:
    """The same scale on another tonic, spelled as players say it; the player's own spelling where it is the same."""
    if semitone % 12 == key.tonic.semitone:
        return key
    return replace(key, tonic=usual_tonic(semitone, key.degrees))


def _keys(state: PedalState) -> list[Choice]:
    keys = [in_key_of(state.key, semitone) for semitone in range(12)]
    return [Choice(str(key.tonic), replace(state, key=key)) for key in keys]


def _scales(state: PedalState) -> list[Choice]:
    own: list[Key] = [] if state.key.scale in SCALES else [state.key]
    return [Choice(key.scale, replace(state, key=key)) for key in (*own, *(_in_scale(state.key, s) for s in SCALES))]


def _in_scale(key: Key, scale: str) -> Key:
    """Another scale on the same tonic; between minor and major it may have another name (C# minor, Db major)."""
    other = parse_key(f"{key.tonic} {scale}")
    if ("b3" in other.degrees) == ("b3" in key.degrees):
        return other
    return replace(other, tonic=usual_tonic(key.tonic.semitone, other.degrees))


def _modes(state: PedalState) -> list[Choice]:
    return [Choice(mode, replace(state, mode=mode)) for mode in state.modes]


def _players(state: PedalState) -> list[Choice]:
    """The players of the settings, and whoever is none of them."""
    names = dict.fromkeys((*state.players, "", state.player))
    return [Choice(name or GUEST, replace(state, player=name)) for name in names]


def bend_words(state: PedalState) -> str:
    """The bend to practise, such as "(3)8▸G4"; "any" where none is asked for."""
    rung = state.bend
    return "any" if rung is None else f"({rung.string}){rung.fret}▸{rung.target}"


def _bends(state: PedalState) -> list[Choice]:
    open_rungs = [rung for rung in state.rungs() if rung.crossing not in state.crossed_off]
    offered = [replace(state, bend=rung) for rung in open_rungs]
    return [Choice(bend_words(one), one) for one in offered] or [Choice("any", state)]


def _crossing(state: PedalState) -> list[Choice]:
    """Crossing off the bend that is asked for, for a pedal that has no switch for it."""
    if state.bend is None:
        return [Choice("no bend", state)]
    off = replace(state, crossed_off=state.crossed_off | {state.bend.crossing}, bend=None)
    return [Choice(f"keep {bend_words(state)}", state), Choice("never again", off)]


def _crossing_words(state: PedalState) -> str:
    return "no bend" if state.bend is None else bend_words(state)


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


def _repeats(state: PedalState) -> list[Choice]:
    return [Choice(_repeat(on), replace(state, repeat=on)) for on in (False, True)]


def _repeat(on: object) -> str:
    return "until true" if on else "once"


def _rounds(state: PedalState) -> list[Choice]:
    return [Choice(f"{minutes} min", replace(state, round_minutes=minutes)) for minutes in MINUTES]


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
    """Each of them can be brought back alone: (string) fret, and how far."""
    kept = Choice(_crossed_off(state), state)
    if not state.crossed_off:
        return [kept]
    each = [
        Choice(f"back ({one.string}){one.fret} +{one.semitones}", replace(state, crossed_off=state.crossed_off - {one}))
        for one in sorted(state.crossed_off)
    ]
    return [kept, *each, Choice("all back", replace(state, crossed_off=frozenset()))]


def _crossed_off(state: PedalState) -> str:
    return f"{len(state.crossed_off)} bend{'' if len(state.crossed_off) == 1 else 's'}"


def _licks(state: PedalState) -> list[Choice]:
    """Each by number and first notes; one that was kept in another key in the key of now first, then in its own."""
    choices = []
    for one in state.licks:
        for key in dict.fromkeys((state.key, one.lick.key)):
            found = chosen(state.licks, one.number, key, state.neck)
            if found.lick is not None and (key == state.key or key.tonic != state.key.tonic):
                word = f"{_number(one.number)} {first_notes(found.lick)}"
                word += f" in {key.tonic}" if key != state.key else f", {found.said}" if found.said else ""
                choices.append(Choice(word, replace(state, lick=one.number, key=key)))
    here = _lick(state)
    return choices if any(choice.word == here for choice in choices) else [Choice(here, state), *choices]


def _lick(state: PedalState) -> str:
    found = chosen(state.licks, state.lick, state.key, state.neck)
    if found.lick is None:
        return "none"
    return f"{_number(state.lick)} {first_notes(found.lick)}" + (f", {found.said}" if found.said else "")


def _number(number: int) -> str:
    return "new" if number == NEW else str(number)


def _keeps(state: PedalState) -> list[Choice]:
    """Under a number of its own; a full shelf says so."""
    new, number = original(state.licks, NEW), free_number(state.licks)
    word = _kept(state)
    if new is None or number is None:
        return [Choice(word, state)]
    kept = replace(state, licks=put(state.licks, KeptLick(number, new)), lick=number)
    return [Choice(word, state), Choice(f"as {number}", kept)]


def _kept(state: PedalState) -> str:
    count = sum(one.number != NEW for one in state.licks)
    return f"{count} kept" + (", full" if free_number(state.licks) is None else "")


def _delay(state: PedalState) -> str:
    """How late the pulse comes back where that is known, heard or set by hand; else only what the drivers say is."""
    return f"{state.delay_ms:.0f} ms" if state.delay_heard else "not heard"


def _delays(state: PedalState) -> list[Choice]:
    now = Choice(_delay(state), state)
    return [now, Choice("hear anew", replace(state, delay_ms=0.0, delay_heard=False))] if state.delay_heard else [now]


ITEMS = (
    MenuItem("key", lambda state: str(state.key.tonic), _keys),
    MenuItem("bend", bend_words, _bends),
    MenuItem("mode", lambda state: state.mode, _modes),
    MenuItem("position", lambda state: str(state.position), _positions),
    MenuItem("cross off", _crossing_words, _crossing),
    MenuItem("crossed", _crossed_off, _crossed),
    MenuItem("player", lambda state: state.player or GUEST, _players),
    MenuItem("drone", lambda state: state.drone if state.drone_on else "off", _drones),
    MenuItem("round", lambda state: f"{state.round_minutes} min", _rounds),
    MenuItem("scale", lambda state: state.key.scale, _scales),
    MenuItem("tolerance", lambda state: f"±{state.bands.true_cents:g}", _tolerances),
    MenuItem("targets", lambda state: state.order.replace("_", " "), _orders),
    MenuItem("ladder", lambda state: _repeat(state.repeat), _repeats),
    MenuItem("lick", _lick, _licks),
    MenuItem("keep lick", _kept, _keeps),
    MenuItem("tuning", lambda state: tuning_name(tuning_words(state.neck.tuning)), _tunings),
    MenuItem("capo", lambda state: _capo(state.neck.capo), _capos),
    MenuItem("A4", lambda state: f"{state.a4_hz:g} Hz", _a4s),
    MenuItem("backing", lambda state: state.backing.replace("_", " "), _backings),
    MenuItem("tempo", lambda state: f"{state.bpm} bpm", _tempos),
    MenuItem("feel", lambda state: state.feel, _feels),
    MenuItem("bends to", lambda state: f"the {state.follow}", _follows),
    MenuItem("clicks", _delay, _delays),
    MenuItem("volume", lambda state: _volume(state.drone_db), _volumes),
    MenuItem("display", lambda state: state.density, _densities),
    MenuItem("device", lambda state: state.device or OWN_DEVICE, _devices),
)
"""What is wanted while playing comes first, what is set once a week last."""
