"""What the set-up is told."""

from __future__ import annotations

from typing import Literal

from pedal.modes.input_events import LivePitch
from pedal.notes.event import NoteEvent
from pedal.pitch.reading import Reading
from pedal.setup.choice import InputDevice, OutputDevice, PanelPlace
from pedal.soundcheck.cable_words import CableRemark
from pedal.soundcheck.levels import Loudness
from pedal.soundcheck.noise import Noise
from pedal.soundcheck.string_heard import StringHeard
from pedal.values import frozen

PressKind = Literal["short", "long", "held"]


@frozen
class Press:
    """A press of any switch or key; `pin` is its GPIO, None for a key."""

    kind: PressKind
    pin: int | None = None


@frozen
class PinDown:
    """A contact closed that was open before."""

    pin: int


@frozen
class Passed:
    """So many seconds have passed since the last one."""

    seconds: float


@frozen
class PanelsFound:
    """Places at which a panel answers, or may be."""

    places: tuple[PanelPlace, ...]


@frozen
class InputsFound:
    """Devices that can be recorded from, in the order the driver lists them."""

    devices: tuple[InputDevice, ...]


@frozen
class OutputsFound:
    """Devices that can be played to, in the order the driver lists them."""

    devices: tuple[OutputDevice, ...]


@frozen
class ListenedTo:
    """What one look at a device heard, channel by channel from 1."""

    device: InputDevice
    channels: tuple[StringHeard, ...]


@frozen
class Played:
    """How loud the last half second was."""

    loudness: Loudness


@frozen
class Quiet:
    """Noise of some seconds, how loud the loudest moment was, and whether a string was heard after all."""

    noise: Noise
    loudness: Loudness
    played: bool = False


@frozen
class Sounded:
    """From the ear itself, while a string is tuned."""

    heard: Reading | NoteEvent | LivePitch


@frozen
class CableHeard:
    """What a run over a cable told."""

    remarks: tuple[CableRemark, ...]


@frozen
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
