"""Where the player was -> plain words that outlive a power cut, and back; what is damaged is passed over."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeVar, get_args

from pedal.modes.rungs import Crossing
from pedal.modes.state import Backing, Density, DroneSound, Follow, Order, PedalState
from pedal.practice.course import MINUTES
from pedal.practice.item import MOST_LICKS
from pedal.theory.cents import A4_LEAST_HZ, A4_MOST_HZ
from pedal.theory.neck import Neck, parse_tuning, tuning_words
from pedal.theory.pulse import FASTEST_BPM, FEELS, SLOWEST_BPM
from pedal.theory.scale import Key, parse_key

Plain = str | int | float | bool
Memory = dict[str, Plain]
Chosen = TypeVar("Chosen", bound=str)

TOLERANCE_LEAST_CENTS, TOLERANCE_MOST_CENTS = 0.5, 50.0
FAINTEST_DB = -60.0
DELAY_MOST_MS = 500.0
"""What is longer is no delay, whoever tells it."""
HEARD_LEAST_MS = -50.0
"""A click comes no earlier than it was sent, but a driver may tell some milliseconds too many of its own delay. More is
one that ran dry and tells anything (-359 ms were heard at a starved sound server), and is not looked for either."""
_HEARD = " heard"
NEAR_PER_TRUE = 2.5
"""The menu moves both bands of bends together, in the proportion of the defaults (25 to 10)."""


def remember(state: PedalState) -> Memory:
    """Plain words for all that the player can change on the pedal."""
    return {
        "mode": state.mode,
        "key": str(state.key),
        "tuning": tuning_words(state.neck.tuning),
        "capo": state.neck.capo,
        "position": state.position,
        "a4_hz": state.a4_hz,
        "true_cents": state.bands.true_cents,
        "near_cents": state.bands.near_cents,
        "player": state.player,
        "order": state.order,
        "repeat": state.repeat,
        "round_minutes": state.round_minutes,
        "crossed_off": crossing_words(state.crossed_off),
        "drone": state.drone,
        "chord": state.chord,
        "backing": state.backing,
        "bpm": state.bpm,
        "feel": state.feel,
        "follow": state.follow,
        "delay": delay_words(state),
        "drone_db": state.drone_db,
        "density": state.density,
        "device": state.device,
        "lick": state.lick,
    }


def restore(state: PedalState, memory: Mapping[str, object]) -> PedalState:
    """The settings with the memory put over them; a value that is damaged or does not fit changes nothing."""
    for name, put in _PUT.items():
        if name in memory:
            try:
                state = put(state, memory[name])
            except ValueError:  # torn or edited by hand: the player's own settings stand
                continue
    return state


def delay_words(state: PedalState) -> str:
    """The delay in one word, so that a setting that is changed overrules it whole: "12.5 heard", "0"."""
    return f"{state.delay_ms:g}{_HEARD if state.delay_heard else ''}"


def _delay(state: PedalState, seen: object) -> PedalState:
    words = _word(seen)
    heard = words.endswith(_HEARD)
    least_ms = HEARD_LEAST_MS if heard else -DELAY_MOST_MS
    delay_ms = _number(float(words.removesuffix(_HEARD)), least_ms, DELAY_MOST_MS)
    return replace(state, delay_ms=delay_ms, delay_heard=heard)


def _word(seen: object) -> str:
    if not isinstance(seen, str):
        raise ValueError(f"remembered word must be text, got {seen!r}")  # noqa: TRY004 (one refusal for all damage)
    return seen


def _whole(seen: object, least: int, most: int) -> int:
    if not isinstance(seen, int) or isinstance(seen, bool) or not least <= seen <= most:
        raise ValueError(f"remembered number must be whole, {least} to {most}, got {seen!r}")
    return seen


def _number(seen: object, least: float, most: float) -> float:
    if not isinstance(seen, int | float) or isinstance(seen, bool) or not least <= seen <= most:
        raise ValueError(f"remembered number must be {least} to {most}, got {seen!r}")
    return float(seen)


def _yes_or_no(seen: object) -> bool:
    if not isinstance(seen, bool):
        raise ValueError(f"remembered word must be yes or no, got {seen!r}")  # noqa: TRY004 (one refusal for all damage)
    return seen


def _minutes(seen: object) -> int:
    minutes = _whole(seen, MINUTES[0], MINUTES[-1])
    if minutes not in MINUTES:
        raise ValueError(f"a Round has {MINUTES} minutes, got {seen!r}")
    return minutes


def _one_of(seen: object, words: tuple[Chosen, ...]) -> Chosen:
    for word in words:
        if word == seen:
            return word
    raise ValueError(f"remembered word must be one of {', '.join(words)}, got {seen!r}")


def _key(seen: object, configured: Key) -> Key:
    """The configured key itself where it is meant: only it may carry an own interval list."""
    return configured if seen == str(configured) else parse_key(_word(seen))


def crossing_words(crossings: frozenset[Crossing]) -> str:
    """Bends that were crossed off in one line: "6/3/3 1/3/3"."""
    return " ".join("/".join(map(str, crossing)) for crossing in sorted(crossings))


def crossings_of(seen: object) -> frozenset[Crossing]:
    """The bends of such a line; none for one that is damaged."""
    try:
        return _crossings(seen)
    except ValueError:
        return frozenset()


def _player(seen: object, players: tuple[str, ...]) -> str:
    """A name that the settings still hold; a guest is always welcome."""
    return _one_of(seen, ("", *players))


def _crossings(seen: object) -> frozenset[Crossing]:
    return frozenset(Crossing(*map(int, one.split("/", 2))) for one in _three_each(_word(seen).split()))


def _three_each(words: list[str]) -> list[str]:
    if any(len(word.split("/")) != 3 for word in words):
        raise ValueError(f"crossed-off bends must be string/fret/semitones, got {' '.join(words)!r}")
    return words


_ORDERS: tuple[Order, ...] = get_args(Order)
_SOUNDS: tuple[DroneSound, ...] = get_args(DroneSound)
_BACKINGS: tuple[Backing, ...] = get_args(Backing)
_FOLLOWS: tuple[Follow, ...] = get_args(Follow)
_DENSITIES: tuple[Density, ...] = get_args(Density)
_PUT: dict[str, Callable[[PedalState, object], PedalState]] = {
    "mode": lambda state, seen: replace(state, mode=_one_of(seen, state.modes)),
    "key": lambda state, seen: replace(state, key=_key(seen, state.key)),
    "tuning": lambda state, seen: replace(state, neck=replace(state.neck, tuning=parse_tuning(_word(seen)))),
    "capo": lambda state, seen: replace(state, neck=Neck(state.neck.tuning, _whole(seen, 0, 99), state.neck.frets)),
    "position": lambda state, seen: replace(state, position=_whole(seen, 1, len(state.key.degrees))),
    "a4_hz": lambda state, seen: replace(state, a4_hz=_number(seen, A4_LEAST_HZ, A4_MOST_HZ)),
    "true_cents": lambda state, seen: replace(
        state, bands=replace(state.bands, true_cents=_number(seen, TOLERANCE_LEAST_CENTS, TOLERANCE_MOST_CENTS))
    ),
    "near_cents": lambda state, seen: replace(
        state, bands=replace(state.bands, near_cents=_number(seen, state.bands.true_cents, 4 * TOLERANCE_MOST_CENTS))
    ),
    "player": lambda state, seen: replace(state, player=_player(seen, state.players)),
    "order": lambda state, seen: replace(state, order=_one_of(seen, _ORDERS)),
    "repeat": lambda state, seen: replace(state, repeat=_yes_or_no(seen)),
    "round_minutes": lambda state, seen: replace(state, round_minutes=_minutes(seen)),
    "crossed_off": lambda state, seen: replace(state, crossed_off=_crossings(seen)),
    "drone": lambda state, seen: replace(state, drone=_one_of(seen, _SOUNDS)),
    "chord": lambda state, seen: replace(state, chord=_whole(seen, 0, 2)),
    "backing": lambda state, seen: replace(state, backing=_one_of(seen, _BACKINGS)),
    "bpm": lambda state, seen: replace(state, bpm=_whole(seen, SLOWEST_BPM, FASTEST_BPM)),
    "feel": lambda state, seen: replace(state, feel=_one_of(seen, FEELS)),
    "follow": lambda state, seen: replace(state, follow=_one_of(seen, _FOLLOWS)),
    "delay": _delay,
    "drone_db": lambda state, seen: replace(state, drone_db=_number(seen, FAINTEST_DB, state.ceiling_db)),
    "density": lambda state, seen: replace(state, density=_one_of(seen, _DENSITIES)),
    "lick": lambda state, seen: replace(state, lick=_whole(seen, 0, MOST_LICKS)),
    "device": lambda state, seen: replace(state, device=_word(seen)),
}
