"""Curl: the minor third and the flat seventh, bent into the blue zone and cut off there. Released is lost."""

from __future__ import annotations

from dataclasses import replace

from pedal.modes.card import card_of
from pedal.modes.history import Streak
from pedal.modes.input_events import Action, Heard
from pedal.modes.log_entry import LogEntry
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.screen_model import CurlScreen, Status, VerdictCard
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.theory.scale import CURL_SEMITONES
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict


class Curl(Mode):
    """Counts curls in a row. Notes that are no curl neither add to the streak nor end it."""

    name: ModeName = "curl"
    judge_as: JudgeAs = "curl"

    def __init__(self, state: PedalState, string: StringNow) -> None:
        self._state = state
        self._string = string
        self._card: VerdictCard | None = None
        self.streak = Streak()

    def move(self, state: PedalState) -> None:
        """Another key or A4 gives the same string other names; another player begins at none."""
        if state.player != self._state.player:
            self._card, self.streak = None, Streak()
        self._state = state

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """Count curls, and show notes that tried to be one; plain notes are passed over."""
        if not isinstance(heard, Verdict) or heard.kind == "steady":
            return ()
        self._card = card_of(heard)
        if heard.kind == "curl":
            self.streak = self.streak.after(heard.verdict)
        return (self._state.entry("curl", heard),)

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`again` and `next_target` start the streak anew; the best one stays."""
        if action in ("again", "next_target"):
            self.streak = Streak(0, self.streak.best)
            self._card = None
        return ()

    def screen(self, status: Status) -> CurlScreen:
        """The string and the blue zone above it, with no post: a curl has no other target."""
        key = self._state.key
        foot = self._string.foot_midi(self._state)
        drawn = self._string.picture(self._state)
        curled = foot is not None and key.steps_above_tonic(foot) in CURL_SEMITONES
        return CurlScreen(
            status,
            note=None if foot is None else key.spell(foot),
            string=replace(drawn, target_cents=None, zone_cents=drawn.zone_cents if curled else None),
            verdict=self._card,
            streak=self.streak.now,
            best_streak=self.streak.best,
        )
