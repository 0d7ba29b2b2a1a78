"""Raw edges of the footswitches -> commands for the pedal: the recogniser and the action map, joined."""

from __future__ import annotations

from pedal.modes.action_map import ActionMap
from pedal.modes.gesture import Felt, GestureRecogniser, GestureTimes
from pedal.modes.input_events import Action, Command, SwitchTrouble

FootEvent = Command | SwitchTrouble


class Feet:
    """`.edge(...)` and `.tick(...)` give what to tell the pedal, in order of time.

    `mode` is the pedal's `mode`: the same press means different things in different modes.
    """

    def __init__(self, actions: ActionMap, times: GestureTimes | None = None) -> None:
        self._actions = actions
        self._recogniser = GestureRecogniser(actions.wishes(""), times)
        self._holding: dict[tuple[int, ...], Action] = {}

    @property
    def still(self) -> bool:
        """Nothing comes of the passing of time: no `tick` is needed before the next edge."""
        return self._recogniser.still

    def held_for(self, action: Action, mode: str) -> int:
        """As `ActionMap.held_for`: the switch that is held for an action in a mode, or 0."""
        return self._actions.held_for(action, mode)

    def edge(self, time_s: float, switch: int, pressed: bool, *, mode: str) -> list[FootEvent]:
        """A raw edge of a switch, counted from 1: when, down (`pressed`) or up, and in which `mode` the pedal is.

        `time_s` is on the clock of `tick`, and should not fall.
        """
        self._recogniser.wishes = self._actions.wishes(mode)
        return self._orders(self._recogniser.edge(time_s, switch, pressed), mode)

    def tick(self, time_s: float, *, mode: str) -> list[FootEvent]:
        """Time passes; call it every few milliseconds, for a foot that stays says nothing."""
        self._recogniser.wishes = self._actions.wishes(mode)
        return self._orders(self._recogniser.tick(time_s), mode)

    def _orders(self, felt: list[Felt], mode: str) -> list[FootEvent]:
        return [order for one in felt if (order := self._order(one, mode))]

    def _order(self, felt: Felt, mode: str) -> FootEvent | None:
        if isinstance(felt, SwitchTrouble):
            return felt
        if felt.kind == "let_go":  # ends what the hold began, wherever the player is by now
            began = self._holding.pop(felt.switches, None)
            return Command(felt.time_s, "model_end") if began == "model_begin" else None
        action = self._actions.meaning(felt.kind, felt.switches, mode)
        if felt.kind == "held" and action:
            self._holding[felt.switches] = action
        return Command(felt.time_s, action) if action else None
