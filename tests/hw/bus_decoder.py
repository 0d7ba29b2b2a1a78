"""The far end of a panel's bus: takes bytes as the controller would and keeps the picture that the glass would show.

Command sets of SSD1306 / SSD1309 and SH1106 from their data sheets (from memory; luma.oled's constants agree):
Solomon Systech SSD1306 rev 1.1, table 9; Sino Wealth SH1106 v2.3, command table.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from PIL import Image

COMMAND, DATA = 0x00, 0x40
I2C_BITS_A_BYTE = 9
START_AND_STOP_BITS = 2
NO_ANSWER = 121  # EREMOTEIO

ARGUMENTS = {
    0x20: 1, 0x21: 2, 0x22: 2, 0x26: 6, 0x27: 6, 0x29: 5, 0x2A: 5, 0x81: 1, 0x8D: 1, 0xA3: 2,
    0xA8: 1, 0xD3: 1, 0xD5: 1, 0xD9: 1, 0xDA: 1, 0xDB: 1,
}  # fmt: skip
SH1106_HAS_NOT = {0x20, 0x21, 0x22, 0x26, 0x27, 0x29, 0x2A, 0xA3}


@dataclass
class Glass:
    """One controller with its memory. `lit_columns` of `memory_columns` are wired to the glass, from `first_column`."""

    height: int = 64
    memory_columns: int = 128
    first_column: int = 0
    windows: bool = True
    wraps: bool = True
    column: int = 0
    page: int = 0
    horizontal: bool = False
    on: bool = False
    inverted: bool = False
    contrast: int = 0x7F
    sizes: list[int] = field(default_factory=list)
    went_dark: int = 0
    set_up: set[int] = field(default_factory=set)
    pending: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.memory = np.zeros((8, self.memory_columns), np.uint8)
        self.columns = (0, self.memory_columns - 1)
        self.pages = (0, 7)

    def lose_power(self) -> None:
        """The supply sags for a moment: all registers as after reset, noise in the memory, and it answers as before."""
        fresh = Glass(self.height, self.memory_columns, self.first_column, self.windows, self.wraps)
        for name in ("column", "page", "horizontal", "on", "inverted", "contrast", "set_up", "columns", "pages"):
            setattr(self, name, getattr(fresh, name))
        self.memory = np.random.default_rng(440).integers(0, 256, self.memory.shape, np.uint8)

    def commands(self, sent: list[int]) -> None:
        """Command bytes; arguments may come in a later transfer."""
        for byte in sent:
            self.pending.append(byte)
            first = self.pending[0]
            wanted = 0 if not self.windows and first in SH1106_HAS_NOT else ARGUMENTS.get(first, 0)
            if len(self.pending) == 1 + wanted:
                operation, *arguments = self.pending
                self.pending = []
                self.obey(operation, arguments)

    def obey(self, operation: int, arguments: list[int]) -> None:
        self.set_up.add(operation)
        match operation:
            case 0x20 if self.windows:
                self.horizontal = arguments[0] & 3 == 0
            case 0x21 if self.windows:
                self.columns, self.column = (arguments[0] & 127, arguments[1] & 127), arguments[0] & 127
            case 0x22 if self.windows:
                self.pages, self.page = (arguments[0] & 7, arguments[1] & 7), arguments[0] & 7
            case low if low <= 0x0F:
                self.column = self.column & 0xF0 | low
            case high if high <= 0x1F:
                self.column = self.column & 0x0F | (high & 0x0F) << 4
            case 0x81:
                self.contrast = arguments[0]
            case 0xA6 | 0xA7:
                self.inverted = operation == 0xA7
            case 0xAE | 0xAF:
                self.went_dark += self.on and operation == 0xAE
                self.on = operation == 0xAF
            case page if 0xB0 <= page <= 0xB7:
                self.page = page & 7
            case _:
                pass  # timing and wiring of the glass: nothing to see

    def picture_bytes(self, sent: list[int]) -> None:
        for byte in sent:
            if self.column < self.memory_columns:
                self.memory[self.page, self.column] = byte
            if self.horizontal:
                self.step_in_window()
            elif self.wraps:
                self.column = (self.column + 1) % self.memory_columns
            else:
                self.column = min(self.column + 1, self.memory_columns)

    def step_in_window(self) -> None:
        if self.column < self.columns[1]:
            self.column += 1
            return
        self.column = self.columns[0]
        self.page = self.pages[0] if self.page >= self.pages[1] else self.page + 1

    def image(self) -> Image.Image:
        """What is to be seen: mode "1", 128 columns; dark while the panel is off."""
        seen = self.memory[: self.height // 8, self.first_column : self.first_column + 128]
        rows = np.unpackbits(seen[:, None, :], axis=1, bitorder="little").reshape(self.height, 128).astype(bool)
        wired = {0xA8, 0xA1, 0xC8, 0xDA} <= self.set_up  # rows, directions, wiring of the glass
        lit = (rows != self.inverted) & self.on & wired
        return Image.fromarray((lit * 255).astype(np.uint8)).convert("1", dither=Image.Dither.NONE)


def glass_of(chip: str, height: int = 64) -> Glass:
    """A new controller as it is after reset."""
    if chip == "sh1106":
        return Glass(height, memory_columns=132, first_column=2, windows=False, wraps=False)
    return Glass(height)


@dataclass
class FakeSMBus:
    """Stands for smbus2.SMBus; `fault` is the errno that transfers raise. `glass.sizes` gets bytes on the wire."""

    glass: Glass
    address: int = 0x3C
    fault: int | None = None
    fault_after: int = 0
    closed: int = 0

    def write_i2c_block_data(self, address: int, control: int, block: list[int]) -> None:
        assert len(block) <= 32
        self.transfer(address, [control, *block])

    def i2c_rdwr(self, *messages: object) -> None:
        for message in messages:
            self.transfer(message.addr, list(message))

    def transfer(self, address: int, sent: list[int]) -> None:
        if address != self.address:
            raise OSError(NO_ANSWER, "Remote I/O error")
        if self.fault is not None:
            if self.fault_after == 0:
                raise OSError(self.fault, "Remote I/O error")
            self.fault_after -= 1
        self.glass.sizes.append(1 + len(sent))
        {COMMAND: self.glass.commands, DATA: self.glass.picture_bytes}[sent[0]](sent[1:])

    def close(self) -> None:
        self.closed += 1


@dataclass
class FakeSpiDev:
    """Stands for spidev.SpiDev; the level of the data/command pin says which kind of bytes come."""

    glass: Glass
    data_pin: object
    max_speed_hz: int = 0
    closed: int = 0

    def open(self, port: int, device: int) -> None:
        self.place = (port, device)

    def writebytes(self, sent: list[int]) -> None:
        self.glass.sizes.append(len(sent))
        (self.glass.picture_bytes if self.data_pin.state else self.glass.commands)(list(sent))

    def close(self) -> None:
        self.closed += 1


def wire_s(sizes: list[int], *, bus: str, hz: int) -> float:
    """Seconds that the transfers take: nine clocks a byte and a start and stop on I2C, eight a byte on SPI."""
    if bus == "spi":
        return sum(8 * size for size in sizes) / hz
    return sum(I2C_BITS_A_BYTE * size + START_AND_STOP_BITS for size in sizes) / hz
