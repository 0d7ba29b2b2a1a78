"""The menu over every mode: one setting at a time, walked, chosen and left with a single switch if there is but one.

    next_target, previous_target   the next row; while a row is being changed, its next value
    again                          change this row; then: take this value
    back                           do not change it; or leave
    menu                           leave, whatever was being changed

It opens at the key. Where a played note answers a row (`menu_ear.py`), its value is shown for half a second before it
is taken; `again` sends it away, and takes it back as long as no other press came between. A row that cannot be changed
answers `again` in its own way: "input" listens anew, "set-up" asks
for the set-up of panel, switches and sound, "leave" leaves.
"""

from __future__ import annotations

from dataclasses import fields, replace

from pedal.modes.gain_check import GainCheck
from pedal.modes.input_events import Action, InputEvent, LivePitch
from pedal.modes.menu_ear import EARS, answer_of, choice_of
from pedal.modes.menu_items import ITEMS, Choice
from pedal.modes.screen_model import MenuScreen, Status
from pedal.modes.state import PedalState
from pedal.notes.event import Rest

INPUT, SET_UP, LEAVE = "input", "set-up", "leave"
NAMES = (*(item.name for item in ITEMS), INPUT, SET_UP, LEAVE)
SHOWN_S = 0.5
"""A played value is seen this long before it counts: time to send it away."""


class Menu:
    """`.command(action, place)` gives the settings as they are to be; `open` says whether the menu is up.

    set_up_wanted : the set-up was chosen; the pedal's state machine cannot do that itself.
    """

    def __init__(self) -> None:
        self.open = False
        self.set_up_wanted = False
        self._index = 0
        self._gain = GainCheck()
        self._now_s = 0.0
        self._forget()

    def _forget(self) -> None:
        self._choices: list[Choice] = []  # of the row that is being changed; empty while none is
        self._chosen = 0
        self._played: Choice | None = None
        self._played_s = 0.0
        self._place: PedalState | None = None  # what the choices, or the played value, were offered over
        self._taken: Choice | None = None  # a played value that can be taken back
        self._answer = ""

    def hear(self, event: InputEvent, state: PedalState) -> PedalState | None:
        """The input's level, and notes that answer a row; the settings, once a played value is to be taken."""
        if isinstance(event, LivePitch):
            self._now_s = event.time_s
            self._gain.hear(event)
            if self._played is not None and self._now_s - self._played_s >= SHOWN_S:
                taken, place = self._played, self._place
                self._forget()
                self._taken, self._place = taken, place
                return _changed(state, place, taken.state)
        elif isinstance(event, Rest) and NAMES[self._index] in EARS:
            name = NAMES[self._index]
            self._forget()
            self._played, self._played_s, self._place = choice_of(name, event.hz, state), self._now_s, state
            self._answer = "" if self._played else answer_of(name, event.hz, state)
        return None

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
        self.open, self._index = not self.open, 0
        self._forget()
        self._gain.begin()

    def _go_back(self) -> None:
        if self._choices or self._played:
            self._forget()
        else:
            self.open = False

    def _walk(self, step: int) -> None:
        if self._choices:
            self._chosen = (self._chosen + step) % len(self._choices)
        else:
            self._forget()
            self._index = (self._index + step) % len(NAMES)

    def _choose(self, state: PedalState) -> PedalState:
        name, place, taken = NAMES[self._index], self._place, self._taken
        if self._choices:
            chosen = self._choices[self._chosen]
            self._forget()
            self.open = name != "mode"  # whoever chose a mode wants to be in it
            return _changed(state, place, chosen.state)
        if self._played is not None or taken is not None:
            self._forget()
            return state if taken is None else _changed(state, taken.state, place)
        if name == LEAVE:
            self.open, self._index = False, 0
        elif name == SET_UP:
            self.set_up_wanted, self.open = True, False
        elif name == INPUT:
            self._gain.begin()
        else:
            self._begin(state)
        return state

    def _begin(self, state: PedalState) -> None:
        self._forget()
        item = ITEMS[self._index]
        self._choices, self._place = item.choices(state), state
        words = [choice.word for choice in self._choices]
        self._chosen = words.index(item.value(state)) if item.value(state) in words else 0

    def screen(self, status: Status, state: PedalState) -> MenuScreen:
        """The row, and its value: the one that stands, or the one that is being offered."""
        editing = bool(self._choices) or self._played is not None
        return MenuScreen(status, NAMES, self._index, self._value(state), editing=editing)

    def _value(self, state: PedalState) -> str:
        if self._played is not None:
            return self._played.word
        if self._choices:
            return self._choices[self._chosen].word
        match NAMES[self._index]:
            case "input":
                return self._gain.word
            case "set-up":
                return "begin"
            case "leave":
                return "the menu"
            case _:
                return self._answer or ITEMS[self._index].value(state)


def _changed(state: PedalState, before: PedalState | None, after: PedalState | None) -> PedalState:
    """The state with what differs between two others, and no more: much may have happened since they were made."""
    if before is None or after is None:
        return state
    names = [each.name for each in fields(PedalState)]
    return replace(
        state, **{name: getattr(after, name) for name in names if getattr(before, name) != getattr(after, name)}
    )
