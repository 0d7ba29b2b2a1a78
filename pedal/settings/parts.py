"""The settings as frozen values. Field for field the rows of table.py; what each means stands there."""

from __future__ import annotations

from pathlib import Path

from pedal.theory.neck import Tuning
from pedal.theory.scale import Key
from pedal.values import frozen
from pedal.verdicts.aim import Bands


@frozen
class Strings:
    """The string set; gauges and cores in inches, string 1 (highest) first; `cores_in` None: usual ones."""

    gauges_in: tuple[float, ...]
    cores_in: tuple[float, ...] | None
    scale_mm: float
    after_mm: float


@frozen
class Force:
    """Sideways force of a bend, in newtons, from which it counts as medium, heavy and very heavy."""

    medium_n: float
    heavy_n: float
    very_heavy_n: float


@frozen
class Audio:
    """Sound in and out. A device is None (the system's default), a number or a part of a name; `channel` from 1."""

    input: str | int | None
    output: str | int | None
    rate_hz: int
    block_samples: int
    channel: int
    drone_db: float
    drone_ceiling_db: float


@frozen
class Time:
    """What is played in time, and what is taken off an arrival."""

    backing: str
    tempo_bpm: int
    feel: str
    bends_to: str
    delay_ms: float


@frozen
class Display:
    """The panel and how it is read."""

    kind: str
    bus: str
    i2c_port: int
    i2c_address: int
    i2c_reset_pin: int | None
    spi_port: int
    spi_device: int
    spi_hz: int
    data_pin: int
    reset_pin: int
    size: str
    rotation: int
    contrast: int
    inverse: bool
    density: str
    distance_m: float
    panel_height_mm: float
    dim_after_s: float
    blank_after_s: float

    @property
    def width(self) -> int:
        """Dots across."""
        return int(self.size.partition("x")[0])

    @property
    def height(self) -> int:
        """Dots down."""
        return int(self.size.partition("x")[2])

    @property
    def needs_pins(self) -> bool:
        """Whether there is a panel that has lines beside its bus, which only a pin library can drive."""
        return self.kind != "none" and (self.bus == "spi" or self.i2c_reset_pin is not None)


@frozen
class Switches:
    """Footswitches: `pins` are GPIO numbers of switch 1, 2, ...; `actions` are (gesture words, action) where chosen."""

    pins: tuple[int, ...]
    debounce_s: float
    long_s: float
    held_s: float
    double_s: float
    both_s: float
    stuck_s: float
    actions: tuple[tuple[str, str], ...]


@frozen
class Players:
    """Names that may be chosen, and for each the force from which a bend is heavy; no forces: the usual ones."""

    names: tuple[str, ...]
    heavy_n: tuple[float, ...]


@frozen
class Lamp:
    """One light; no pin, no lamp."""

    pin: int | None


@frozen
class Modes:
    """Which mode comes first, which are there, how Ladder orders its rungs, and whether one stays until it is true."""

    start: str
    order: tuple[str, ...]
    ladder: str
    repeat: bool


@frozen
class Round:
    """How long a practice is, how long its rests, and how many heavy bends it may ask for in an hour."""

    minutes: int
    rest_s: float
    heavy_bends: int


@frozen
class Log:
    """Where verdicts are kept, and how large that may grow."""

    path: Path
    max_mb: int


@frozen
class Takes:
    """Whether the sound of each note is kept, where, and how much of it."""

    keep: bool
    folder: Path
    max_mb: int


@frozen
class State:
    """Where the pedal remembers what it was doing."""

    folder: Path


@frozen
class Settings:
    """Everything that a player may choose. `tuning` is that of the open strings without capo."""

    key: Key
    tuning: Tuning
    capo: int
    a4_hz: float
    frets: int
    bands: Bands
    strings: Strings
    force: Force
    audio: Audio
    time: Time
    display: Display
    switches: Switches
    players: Players
    lamp: Lamp
    modes: Modes
    round: Round
    log: Log
    takes: Takes
    state: State
