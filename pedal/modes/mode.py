"""What every mode is to the pedal."""

from __future__ import annotations

from typing import Protocol

from pedal.modes.input_events import Action, Heard
from pedal.modes.log_entry import LogEntry
from pedal.modes.names import ModeName
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import ScreenModel, Status
from pedal.modes.state import PedalState
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict


class Mode(Protocol):
    """A small state machine: what was heard and what was asked for in, log entries and a screen out.

    A mode that says nothing else asks for no bend, is judged as Watch is, and needs neither drone nor readings.
    """

    @property
    def name(self) -> ModeName:
        """The word in settings, memory and log."""

    @property
    def judge_as(self) -> JudgeAs:
        """How the judge shall take a note."""
        return "watch"

    @property
    def wants_drone(self) -> bool:
        """Whether the mode is meant to be played against a drone."""
        return False

    @property
    def follows_readings(self) -> bool:
        """Whether `hear` takes readings, 375 a second; the others are told everything else."""
        return False

    @property
    def rung(self) -> Rung | None:
        """The bend asked for, None for any."""
        return None

    @property
    def rung_shown(self) -> Rung | None:
        """The bend that the screen is about, which a press crosses off: the one asked for, unless a mode lingers."""
        return self.rung

    def lamp_word(self, verdict: Verdict) -> str:
        """What the lamp says of a note, asked before `hear`: "true" and "near" light it, any other is dark."""
        return verdict.verdict

    def move(self, state: PedalState) -> None:
        """The player changed key, neck, bands or the like."""

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """Take what came from the strings."""

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """Take what the foot asked for; what means nothing here is passed over."""

    def screen(self, status: Status) -> ScreenModel:
        """What the screen says now."""
