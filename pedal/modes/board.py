"""The one place that knows all modes: what the pedal is doing now, and where the player moved it."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.modes.happening import Happening
from pedal.modes.log_entry import LogEntry
from pedal.modes.screen_model import ScreenModel
from pedal.verdicts.aim import Aim


@dataclass(frozen=True, slots=True)
class DroneOrder:
    """What the drone shall sound: frequencies in hertz (empty: silence)."""

    hz: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """What follows from one happening. `entries` go to the log; `drone` None means unchanged."""

    entries: tuple[LogEntry, ...] = ()
    drone: DroneOrder | None = None


class Board:
    """`.step(happening)` moves on; `.aim` and `.screen()` say where we are; `.memory()` is what outlives a power cut."""

    aim: Aim

    def step(self, happening: Happening) -> Answer:
        """Take one happening."""
        raise NotImplementedError

    def screen(self) -> ScreenModel:
        """What the screen says now."""
        raise NotImplementedError

    def memory(self) -> dict[str, str | int | float | bool]:
        """Plain words to remember: mode, key, position, target, menu changes."""
        raise NotImplementedError
