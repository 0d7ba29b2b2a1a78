"""Watch: the player plays anything in the key; the string is drawn live, and each bend leaves one verdict."""

from __future__ import annotations

from pedal.modes.backing_now import BackingNow
from pedal.modes.card import card_of
from pedal.modes.input_events import Action, Heard
from pedal.modes.log_entry import LogEntry
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.screen_model import Status, VerdictCard, WatchScreen
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.verdicts.aim import next_goal
from pedal.verdicts.verdict import Verdict

GLANCE_S = 3.0
"""A bend's verdict outlives plain notes played after it for this long: the glance comes after the phrase."""


class Watch(Mode):
    """No target: any note of the key."""

    name: ModeName = "watch"

    def __init__(self, state: PedalState, string: StringNow, backing: BackingNow | None) -> None:
        self._state = state
        self._string, self._backing = string, backing or BackingNow()
        self._card: VerdictCard | None = None
        self._bend_ended_s = float("-inf")

    def move(self, state: PedalState) -> None:
        """Another key or A4 gives the same string other names."""
        self._state = state

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """A bend (or what failed to be one) is shown and logged, a plain note only shown."""
        if not isinstance(heard, Verdict):
            return ()
        if heard.kind == "steady":
            if heard.end_s - self._bend_ended_s > GLANCE_S:
                self._card = card_of(heard)
            return ()
        self._card = self._backing.told(self._state, heard, card_of(heard))
        self._bend_ended_s = heard.end_s
        return (self._state.entry("watch", heard),)

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`again` and `next_target` wipe the verdict."""
        if action in ("again", "next_target"):
            self._card, self._bend_ended_s = None, float("-inf")
        return ()

    def screen(self, status: Status) -> WatchScreen:
        """The string, the note it stands on, where it may go, the last verdict."""
        key = self._state.key
        foot = self._string.foot_midi(self._state)
        return WatchScreen(
            status,
            note=None if foot is None else key.spell(foot),
            target=None if foot is None else key.spell(next_goal(key, self._string.goals, foot)),
            string=self._string.picture(self._state),
            verdict=self._card,
        )
