"""What a step wants done now; it stands until another takes its place. Each is answered by events, or by none.

Any of them may be answered by `Trouble` as well, whatever it failed over.
"""

from __future__ import annotations

from pedal.setup.choice import InputChoice, InputDevice, OutputDevice, PanelChoice
from pedal.values import frozen


@frozen
class Nothing:
    """No wish: wait for a press."""


@frozen
class FindPanels:
    """Answered by `PanelsFound`; `time` makes another wish of the same."""

    time: int


@frozen
class TryPanel:
    """Show the page on this panel, driven in this way."""

    choice: PanelChoice


@frozen
class FindInputs:
    """Answered by `InputsFound`."""

    time: int


@frozen
class FindOutputs:
    """Answered by `OutputsFound`."""

    time: int


@frozen
class ListenTo:
    """Record all channels for a while; answered by `ListenedTo`. `time` counts the looks."""

    device: InputDevice
    time: int


@frozen
class HearLoudness:
    """Answered by `Played` twice a second, for as long as it is wished. `time` counts the tries."""

    choice: InputChoice | None
    time: int


@frozen
class HearQuiet:
    """Record some seconds; answered by `Quiet`."""

    choice: InputChoice | None
    time: int


@frozen
class PlayTone:
    """A quiet tone, for as long as it is wished."""

    output: OutputDevice


@frozen
class HearString:
    """Answered by `Sounded`, for as long as it is wished."""

    choice: InputChoice | None


@frozen
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
