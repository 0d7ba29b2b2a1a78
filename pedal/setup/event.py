"""What the set-up is told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pedal.modes.input_events import LivePitch
from pedal.notes.event import NoteEvent
from pedal.pitch.reading import Reading
from pedal.setup.choice import InputDevice, OutputDevice, PanelPlace
from pedal.soundcheck.cable_words import CableRemark
from pedal.soundcheck.loudness import Loudness
from pedal.soundcheck.noise import Noise
from pedal.soundcheck.string_heard import StringHeard

PressKind = Literal["short", "long", "held"]


@dataclass(frozen=True, slots=True)
class Press:
    """A press of any switch or key; `pin` is its GPIO, None for a key."""

    kind: PressKind
    pin: int | None = None


@dataclass(frozen=True, slots=True)
class PinDown:
    """A contact closed that was open before."""

    pin: int


@dataclass(frozen=True, slots=True)
class Passed:
    """So many seconds have passed since the last one."""

    seconds: float


@dataclass(frozen=True, slots=True)
class PanelsFound:
    """Places at which a panel answers, or may be."""

    places: tuple[PanelPlace, ...]


@dataclass(frozen=True, slots=True)
class InputsFound:
    """Devices that can be recorded from, in the order the driver lists them."""

    devices: tuple[InputDevice, ...]


@dataclass(frozen=True, slots=True)
class OutputsFound:
    """Devices that can be played to, in the order the driver lists them."""

    devices: tuple[OutputDevice, ...]


@dataclass(frozen=True, slots=True)
class ListenedTo:
    """What one look at a device heard, channel by channel from 1."""

    device: InputDevice
    channels: tuple[StringHeard, ...]


@dataclass(frozen=True, slots=True)
class Played:
    """How loud the last half second was."""

    loudness: Loudness


@dataclass(frozen=True, slots=True)
class Quiet:
    """Noise of some seconds, how loud the loudest moment was, and whether a string was heard after all."""

    noise: Noise
    loudness: Loudness
    played: bool = False


@dataclass(frozen=True, slots=True)
class Sounded:
    """From the ear itself, while a string is tuned."""

    heard: Reading | NoteEvent | LivePitch


@dataclass(frozen=True, slots=True)
class CableHeard:
    """What a run over a cable told."""

    remarks: tuple[CableRemark, ...]


@dataclass(frozen=True, slots=True)
class Trouble:
    """A device of this step does not do what was wished: one sentence, with a remedy."""

    sentence: str


SetUpEvent = (
    Press
    | PinDown
    | Passed
    | PanelsFound
    | InputsFound
    | OutputsFound
    | ListenedTo
    | Played
    | Quiet
    | Sounded
    | CableHeard
    | Trouble
)
