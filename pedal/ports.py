"""What the app asks of the world. Adapters in `hw/` fit these by shape; they inherit nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from pedal.modes.log_entry import LogEntry

if TYPE_CHECKING:
    from PIL import Image


@dataclass(frozen=True, slots=True)
class StreamFacts:
    """What the device really gives; `remark` says in one sentence what differs from what was asked, "" if nothing.

    inputs : names of all inputs that could be chosen instead.
    """

    device: str
    sample_rate: int
    block_samples: int
    channel: int
    remark: str = ""
    inputs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Block:
    """Float32 mono samples in [-1, 1]; `lost_samples` went missing just before them, by `overflows` overflows."""

    samples: NDArray[np.float32]
    lost_samples: int = 0
    overflows: int = 0


class AudioSource(Protocol):
    """Where sound comes from: a device or a file."""

    def open(self) -> StreamFacts:
        """Start the stream; raises DeviceError or TakeError."""

    def read(self) -> Block | None:
        """The next block, waiting for it; None when a file has ended. Raises DeviceError when the device is lost."""

    def close(self) -> None:
        """Stop; safe to call twice and from another thread."""


class Take(AudioSource, Protocol):
    """Recorded sound: an audio source that knows its length and what was odd about it."""

    @property
    def total_samples(self) -> int:
        """Samples that `read` will give; known once open."""

    @property
    def remarks(self) -> list[str]:
        """One sentence a thing that was odd about the samples read so far."""


class AudioSink(Protocol):
    """Where the drone goes."""

    delay_s: float
    """From `render` to the sound, as far as the driver says; 0.0 where it does not."""

    def open(self, render: Callable[[int], NDArray[np.float32]]) -> StreamFacts:
        """Start pulling mono float32 samples from `render(n)`; raises DeviceError."""

    def close(self) -> None:
        """Stop; safe to call twice."""


class Screen(Protocol):
    """A panel of 128 x 64 (or 128 x 32) dots."""

    delay_s: float
    """From `show` to light: how far the picture looks ahead."""

    def show(self, bitmap: Image.Image) -> None:
        """Put a mode "1" picture of the panel's size up; raises DeviceError if the panel does not answer."""

    def dim(self, share: float) -> None:
        """Brightness 0 (blank) to 1."""

    def close(self) -> None:
        """Blank and let go; safe to call twice."""


class Switches(Protocol):
    """Footswitches: raw edges with their times, nothing debounced."""

    def open(self, edge: Callable[[float, int, bool], None]) -> None:
        """Call `edge(time_s, switch, pressed)` at every edge, from any thread; switches count from 1.

        Raises DeviceError.
        """

    def close(self) -> None:
        """Let go of the pins; safe to call twice."""


class Lamp(Protocol):
    """A light that glows at a level; what it says by its rhythm is not its business."""

    def shine(self, level: float) -> None:
        """Brightness 0 to 1."""

    def close(self) -> None:
        """Off; safe to call twice."""


class Store(Protocol):
    """Where log entries stay."""

    @property
    def remark(self) -> str:
        """One sentence on what was unusual, such as a damaged log that was set aside; "" if nothing."""

    def append(self, entries: list[LogEntry]) -> None:
        """Keep entries, in order, in one transaction; raises StoreError."""

    def close(self) -> None:
        """Flush and let go; safe to call twice."""


@dataclass(frozen=True, slots=True)
class SoundDevice:
    """One sound device as the library lists it: `inputs` and `outputs` are channels, 0 for none."""

    number: int
    name: str
    inputs: int
    outputs: int
    default_rate_hz: int
    is_default_input: bool = False
    is_default_output: bool = False


@dataclass(frozen=True, slots=True)
class PinLibrary:
    """What drives the pins ("lgpio", "mock", ...), and the board it believes to be on."""

    name: str
    board: str
