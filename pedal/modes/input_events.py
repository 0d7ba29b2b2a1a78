"""What a mode is told: the pitch right now, readings, note events, verdicts, and what the player's foot asked for."""

from __future__ import annotations

from typing import Literal

from pedal.notes.event import NoteEvent
from pedal.pitch.reading import Reading
from pedal.values import frozen
from pedal.verdicts.verdict import Verdict


@frozen
class LivePitch:
    """The pitch at this instant, `hz` 0.0 if none; `clipped`: the input touched full scale; `lost`: blocks went.

    `after_hole`: sound is missing between the one before and this: blocks went, the input was opened anew, or the
    hearing failed. How far apart the two are says nothing: a hearing that is behind takes in a second at once.
    """

    time_s: float
    hz: float
    level_db: float
    clipped: bool = False
    lost: bool = False
    after_hole: bool = False


GestureKind = Literal["short", "long", "double", "both", "held", "let_go"]


@frozen
class Gesture:
    """What a foot did. `switches` are numbers from 1; two for "both".

    "held" comes while the foot is still down, "let_go" ends it.
    """

    time_s: float
    kind: GestureKind
    switches: tuple[int, ...]


@frozen
class SwitchTrouble:
    """A switch that misbehaves and is ignored ("stuck" down, or "noisy"), or behaves again ("well")."""

    time_s: float
    switch: int
    trouble: Literal["stuck", "noisy", "well"]


Action = Literal[
    "next_key", "previous_key", "next_position", "previous_position", "next_target", "previous_target",
    "next_mode", "previous_mode", "skip", "cross_off", "drone", "drone_chord", "model_begin", "model_end",
    "menu", "back", "recall", "again", "hear_model",
]  # fmt: skip


@frozen
class Command:
    """A gesture translated by the action map of the settings."""

    time_s: float
    action: Action


@frozen
class LogPaused:
    """The log cannot be written for now (`paused`), or can again."""

    time_s: float
    paused: bool


@frozen
class PartFailed:
    """A part of the loop ("drawing", "keeping", ...) failed over a fault of ours and was started again."""

    time_s: float
    part: str


@frozen
class DevicesFound:
    """The audio inputs that are there now, for the menu to offer."""

    time_s: float
    names: tuple[str, ...]


@frozen
class BeatsBegan:
    """Where the pulse lies on the axis of the readings: its first beat, the count-in's, at `zero_s`, if it is known."""

    time_s: float
    zero_s: float | None
    beat_s: float


@frozen
class DelayHeard:
    """By its own clicks the pedal heard what the drivers hide of the way out and back in, milliseconds."""

    time_s: float
    delay_ms: float


Heard = LivePitch | Reading | NoteEvent | Verdict
"""What came from the strings."""

InputEvent = Heard | Command | SwitchTrouble | LogPaused | PartFailed | DevicesFound | BeatsBegan | DelayHeard
