"""The menu over every mode: one setting at a time, walked, chosen and left with a single switch if there is but one.

    next_target, previous_target   the next row; while a row is being changed, its next value
    again                          change this row; then: take this value
    back                           do not change it; or leave
    menu                           leave, whatever was being changed

A row that cannot be changed answers `again` in its own way: "input" listens anew, "leave" leaves.
"""

from __future__ import annotations

from pedal.modes.gain_check import GainCheck
from pedal.modes.input_events import Action, InputEvent, LivePitch
from pedal.modes.menu_items import ITEMS, Choice
from pedal.modes.screen_model import MenuScreen, Status
from pedal.modes.state import PedalState

INPUT, LEAVE = "input", "leave"
NAMES = (*(item.name for item in ITEMS), INPUT, LEAVE)


class Menu:
    """`.command(action, place)` gives the settings as they are to be; `open` says whether the menu is up."""

    def __init__(self) -> None:
        self.open = False
        self._index = 0
        self._gain = GainCheck()
        self._choices: list[Choice] = []  # of the row that is being changed; empty while none is
        self._chosen = 0

    def hear(self, event: InputEvent) -> None:
        """The input's level, for the gain check."""
        if isinstance(event, LivePitch):
            self._gain.hear(event)

    def command(self, action: Action, state: PedalState) -> PedalState:
        """Take what the foot asked for; the settings come back changed when a value was taken, else as they were."""
        match action:
            case "menu":
                self._toggle()
            case "back":
                self._go_back()
            case "next_target":
                self._walk(1)
            case "previous_target":
                self._walk(-1)
            case "again":
                return self._choose(state)
            case _:
                pass
        return state

    def _toggle(self) -> None:
        self.open = not self.open
        self._choices = []
        self._gain.begin()

    def _go_back(self) -> None:
        if self._choices:
            self._choices = []
        else:
            self.open = False

    def _walk(self, step: int) -> None:
        if self._choices:
            self._chosen = (self._chosen + step) % len(self._choices)
        else:
            self._index = (self._index + step) % len(NAMES)

    def _choose(self, state: PedalState) -> PedalState:
        name = NAMES[self._index]
        if self._choices:
            taken, self._choices = self._choices[self._chosen], []
            return taken.state
        if name == LEAVE:
            self.open, self._index = False, 0
        elif name == INPUT:
            self._gain.begin()
        else:
            self._begin(state)
        return state

    def _begin(self, state: PedalState) -> None:
        item = ITEMS[self._index]
        self._choices = item.choices(state)
        words = [choice.word for choice in self._choices]
        self._chosen = words.index(item.value(state)) if item.value(state) in words else 0

    def screen(self, status: Status, state: PedalState) -> MenuScreen:
        """The row, and its value: the one that stands, or the one that is being offered."""
        return MenuScreen(status, NAMES, self._index, self._value(state), editing=bool(self._choices))

    def _value(self, state: PedalState) -> str:
        if self._choices:
            return self._choices[self._chosen].word
        match NAMES[self._index]:
            case "input":
                return self._gain.word
            case "leave":
                return "the menu"
            case _:
                return ITEMS[self._index].value(state)
