"""What a step wants done now; it stands until another takes its place. Each is answered by events, or by none."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.setup.choice import InputChoice, InputDevice, OutputDevice, PanelChoice


@dataclass(frozen=True, slots=True)
class Nothing:
    """No wish: wait for a press."""


@dataclass(frozen=True, slots=True)
class FindPanels:
    """Answered by `PanelsFound`; `time` makes another wish of the same."""

    time: int = 0


@dataclass(frozen=True, slots=True)
class TryPanel:
    """Show the page on this panel, driven in this way."""

    choice: PanelChoice


@dataclass(frozen=True, slots=True)
class FindInputs:
    """Answered by `InputsFound`."""

    time: int = 0


@dataclass(frozen=True, slots=True)
class FindOutputs:
    """Answered by `OutputsFound`."""

    time: int = 0


@dataclass(frozen=True, slots=True)
class ListenTo:
    """Record all channels for a while; answered by `ListenedTo`, or `Trouble`. `time` counts the looks."""

    device: InputDevice
    time: int


@dataclass(frozen=True, slots=True)
class HearLoudness:
    """Answered by `Played` twice a second, for as long as it is wished."""

    choice: InputChoice | None


@dataclass(frozen=True, slots=True)
class HearQuiet:
    """Record some seconds; answered by `Quiet`."""

    choice: InputChoice | None
    time: int


@dataclass(frozen=True, slots=True)
class PlayTone:
    """A quiet tone, for as long as it is wished."""

    output: OutputDevice


@dataclass(frozen=True, slots=True)
class HearString:
    """Answered by `Sounded`, for as long as it is wished."""

    choice: InputChoice | None


@dataclass(frozen=True, slots=True)
class MeasureCable:
    """Play and record over a cable, once; answered by `CableHeard`."""

    choice: InputChoice | None
    output: OutputDevice | None
    time: int


Wish = (
    Nothing
    | FindPanels
    | TryPanel
    | FindInputs
    | FindOutputs
    | ListenTo
    | HearLoudness
    | HearQuiet
    | PlayTone
    | HearString
    | MeasureCable
)
