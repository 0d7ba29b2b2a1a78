"""What the hearing gets and gives: edges in, frames out, and those who keep entries and takes for it."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pedal.modes.drone import DroneOrder, LickOrder
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import Memory
from pedal.modes.screen_model import ScreenModel
from pedal.modes.state import Density
from pedal.values import frozen
from pedal.verdicts.verdict import Verdict

Samples = NDArray[np.float32]


@frozen
class SwitchEdge:
    """A switch went down or up, at `time_s` of the loop's clock."""

    time_s: float
    switch: int
    pressed: bool


@frozen
class Frame:
    """What the screen shall show; `awake` while sound or a foot keeps it bright, `verdict` the word for the lamp."""

    model: ScreenModel
    awake: bool
    verdict: str = ""
    density: Density = "glance"


class EntrySink(Protocol):
    """Where log entries and the memory go; never waits."""

    @property
    def paused(self) -> bool:
        """Whether the log cannot be written for now."""

    def keep(self, entries: tuple[LogEntry, ...]) -> None:
        """Take lines of the log, to be written when the disk lets it."""

    def remember(self, memory: Memory) -> None:
        """Take what shall outlive a power cut; the newest wins."""

    def keep_licks(self, licks: tuple[KeptLick, ...]) -> None:
        """Keep licks, each under its number."""


class Output(Protocol):
    """What the pedal sounds by, drone or pulse and licks; never waits."""

    @property
    def beat_zero_s(self) -> float | None:
        """When the first beat of the pulse sounds, on the loop's clock; None while none does."""

    def order(self, order: DroneOrder) -> None:
        """Take what is to sound from now on; the newest wins."""

    def play(self, order: LickOrder) -> None:
        """Take a lick to be played over it; the newest wins."""


class Takes(Protocol):
    """Keeps the sound around verdicts of one stream; never waits."""

    def push(self, samples: Samples, *, lost_samples: int = 0) -> None:
        """Remember a block."""

    def verdict(self, verdict: Verdict) -> None:
        """Keep the sound around a judged note."""

    def close(self) -> None:
        """Hand over the rest."""
