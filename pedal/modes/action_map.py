"""Gestures -> what they mean: a plain map of words such as "1_short": "next_target".

The left side names a gesture: switch and kind ("1_short", "2_long", "1_double", "2_held") or two switches ("1_2_both").
A word before it confines the line to one mode: "echo 2_held". The right side is an action, or "none".

The default maps, argued. What is wanted most is on the shortest press, the same on every count of switches: the first
switch moves on, its long press changes the mode.

One switch can do three things without waiting for a second press, so no press answers late: short moves on (the next
target), long changes the mode, and a foot that stays opens the menu and closes it again; there everything else is
found. Only in Echo a foot that stays means "this is the model", which is what Echo is for; the menu is one mode away.

Two switches: a foot that stays on the first goes back a mode. The second one says "again" (repeat the rung, wipe the
verdict) and, long, switches the drone. Both at once opens and closes the menu: no single misplaced foot gets there. On
the ladder and in a Round the second one's long press crosses the bend off: that is where it hurts. In Echo the second
one, held, is the model.

Lick is like Echo: a foot that stays plays the model; pressed twice, the same switch lets the pedal play it.

Three: the third walks through positions, long through keys. Four: the fourth has the drone, and long its chord; so the
second one, long, goes back a target. It does so on the ladder too, where one goes back most, and there and in a Round
the second and third at once cross the bend off: what lasts over power cuts takes two switches, as the menu does.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import get_args

from pedal.modes.gesture import Wishes
from pedal.modes.input_events import Action, GestureKind
from pedal.modes.names import MODES

MOST_SWITCHES = 4
SCREENS = (*MODES, "menu")
"""Words that may stand before a gesture: the modes, and the menu over them."""

_IN_MENU_BY_ONE = {"menu 1_short": "next_target", "menu 1_long": "again", "menu 1_held": "menu"}
_IN_MENU_BY_TWO = {"menu 1_short": "next_target", "menu 1_long": "previous_target", "menu 2_short": "again",
                   "menu 2_long": "menu", "menu 1_2_both": "menu", "menu 1_held": "none"}  # fmt: skip
_TWO = {
    "1_short": "next_target", "1_long": "next_mode", "1_held": "previous_mode", "2_short": "again", "2_long": "drone",
    "1_2_both": "menu",
    "ladder 2_long": "cross_off", "round 2_long": "cross_off", "echo 2_held": "model_begin", "echo 2_long": "none",
    "lick 2_held": "model_begin", "lick 2_long": "none", "lick 2_double": "hear_model", **_IN_MENU_BY_TWO,
}  # fmt: skip
_THREE = {**_TWO, "3_short": "next_position", "3_long": "next_key"}
DEFAULTS: dict[int, dict[str, str]] = {
    0: {},
    1: {"1_short": "next_target", "1_long": "next_mode", "1_held": "menu", "echo 1_held": "model_begin",
        "lick 1_held": "model_begin", "lick 1_double": "hear_model",
        **_IN_MENU_BY_ONE},
    2: _TWO,
    3: _THREE,
    4: {**_THREE, "2_long": "previous_target", "4_short": "drone", "4_long": "drone_chord",
        "ladder 2_long": "previous_target", "ladder 2_3_both": "cross_off",
        "round 2_long": "previous_target", "round 2_3_both": "cross_off"},
}  # fmt: skip
"""The map for each count of switches; argued at the top."""

_LINE = re.compile(r"^(?:([a-z]+) )?(?:([1-9])_(short|long|double|held)|([1-9])_([1-9])_both)$")
_ACTIONS: dict[str, Action] = {action: action for action in get_args(Action)}


class ActionMapError(ValueError):
    """A line of the map that means nothing, or two that cannot both be meant."""


class ActionMap:
    """`.meaning(kind, switches, mode)` says what a gesture asks for, `.wishes(mode)` which ones to look for.

    Parameters
    ----------
    switches : int
        How many there are, 0 to 4; their default map holds where `chosen` says nothing.
    chosen : mapping of lines to actions, optional
        The player's own lines. A chosen line that names no mode also ends the defaults of that gesture in the modes.

    Raises
    ------
    ActionMapError
        With one sentence that names the line.

    Notes
    -----
    The lines of the menu stand unless a chosen line names the menu: a player who remaps the pedal can still set it.
    """

    def __init__(self, switches: int, chosen: Mapping[str, str] | None = None) -> None:
        if not 0 <= switches <= MOST_SWITCHES:
            raise ActionMapError(f"{switches} switches are more than this pedal reads: give 0 to {MOST_SWITCHES}")
        self._switches = switches
        chosen = dict(chosen or {})
        remapped = {line for line in chosen if " " not in line}
        kept = {line: word for line, word in DEFAULTS[switches].items() if not _is_remapped(line, remapped)}
        self._meanings = {
            _read_line(line, switches): _read_action(line, word) for line, word in (kept | chosen).items()
        }

    def meaning(self, kind: GestureKind, switches: tuple[int, ...], mode: str) -> Action | None:
        """The action that a gesture asks for in a mode (or "menu"); None for none."""
        gesture = f"{'_'.join(map(str, switches))}_{kind}"
        return self._meanings.get((mode, gesture), self._meanings.get(("", gesture)))

    def held_for(self, action: Action, mode: str) -> int:
        """The switch that is held for an action in a mode; 0 where none is, and where no other can be taken for it."""
        held = (n for n in range(1, self._switches + 1) if self.meaning("held", (n,), mode) == action)
        return next(held, 0) if self._switches > 1 else 0

    def wishes(self, mode: str) -> Wishes:
        """The gestures that mean something in a mode."""
        meanings = {gesture: action for (screen, gesture), action in self._meanings.items() if not screen}
        meanings |= {gesture: action for (screen, gesture), action in self._meanings.items() if screen == mode}
        words = [gesture.split("_") for gesture, action in meanings.items() if action is not None]
        return Wishes(
            long=frozenset(int(word[0]) for word in words if word[-1] == "long"),
            held=frozenset(int(word[0]) for word in words if word[-1] == "held"),
            double=frozenset(int(word[0]) for word in words if word[-1] == "double"),
            both=frozenset((int(word[0]), int(word[1])) for word in words if word[-1] == "both"),
        )


def _is_remapped(line: str, remapped: set[str]) -> bool:
    mode, _, gesture = line.rpartition(" ")
    return mode not in ("", "menu") and gesture in remapped


def _read_line(line: str, switches: int) -> tuple[str, str]:
    """Mode (or "") and gesture of a line."""
    match = _LINE.match(line)
    if not match:
        raise ActionMapError(
            f"{line!r} is no gesture: give a switch and short, long, double or held, such as 1_short, or two switches "
            "and both, such as 1_2_both"
        )
    screen, *parts = match.groups()
    if screen is not None and screen not in SCREENS:
        raise ActionMapError(f"{line!r} names no mode: choose {', '.join(SCREENS)}{_perhaps(screen, SCREENS)}")
    numbers = [int(part) for part in parts if part and part.isdigit()]
    if max(numbers) > switches:
        raise ActionMapError(f"{line!r} names switch {max(numbers)}, but there {_are(switches)}")
    if len(numbers) == 2 and numbers[0] >= numbers[1]:
        raise ActionMapError(f"{line!r} must name two switches, the lower first, such as 1_2_both")
    return screen or "", line.rpartition(" ")[2]


def _read_action(line: str, word: str) -> Action | None:
    if word == "none":
        return None
    if word not in _ACTIONS:
        choices = ("none", *_ACTIONS)
        raise ActionMapError(
            f"{line!r} asks for {word!r}, which is no action: choose {', '.join(choices)}{_perhaps(word, choices)}"
        )
    return _ACTIONS[word]


def _perhaps(word: str, known: tuple[str, ...]) -> str:
    near = get_close_matches(word, known, n=1)
    return f" (perhaps {near[0]})" if near else ""


def _are(switches: int) -> str:
    return {0: "are none", 1: "is 1"}.get(switches, f"are {switches}")
