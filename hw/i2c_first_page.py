"""A page that was drawn beforehand -> a panel on I2C, by the kernel's own interface and nothing else.

The commands are those that luma sends to these controllers (luma.oled 3.16, `device/__init__.py`), and pages are
addressed one by one, which all three understand. I2C_SLAVE is 0x0703 (the kernel's `linux/i2c-dev.h`).
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable
from typing import Protocol

from hw.first_page_bits import PAGES


class PanelWiring(Protocol):
    """How a panel on I2C is wired: the controller, where it answers, and how it lies."""

    @property
    def kind(self) -> str:
        """One of ssd1306, ssd1309, sh1106."""

    @property
    def port(self) -> int:
        """Number of the I2C bus, as in /dev/i2c-1."""

    @property
    def address(self) -> int:
        """Seven bits at which the panel answers, such as 0x3C."""

    @property
    def height(self) -> int:
        """Dots down: 64 or 32."""

    @property
    def rotation(self) -> int:
        """0 or 180 degrees."""

    @property
    def inverse(self) -> bool:
        """Dark on light."""


_I2C_SLAVE = 0x0703
_COLUMNS = 128
_PART = 32
"""Bytes of a picture a message: what every bus adapter takes."""
_COMMANDS, _DATA = 0x00, 0x40
_MIRRORED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))
_SET_UP = {
    "ssd1306": (0xAE, 0xD5, 0x80, 0xD3, 0x00, 0x40, 0x8D, 0x14, 0x20, 0x02, 0xA1, 0xC8, 0xD9, 0xF1, 0xDB, 0x40, 0xA4),
    "sh1106": (0xAE, 0xD5, 0xF0, 0xD3, 0x00, 0x40, 0x8D, 0x14, 0xA1, 0xC8, 0xD9, 0x22, 0xDB, 0x20, 0xA4),
}
_SET_UP["ssd1309"] = _SET_UP["ssd1306"]
_LINES = {64: (0xA8, 0x3F, 0xDA, 0x12), 32: (0xA8, 0x1F, 0xDA, 0x02)}
_OTHER_LINES = {("sh1106", 32): (0xA8, 0x20, 0xD3, 0x0F, 0xDA, 0x12)}
_FIRST_COLUMN = {"sh1106": 2}
_CONTRAST = (0x81, 0xCF)
_ON = 0xAF


def show(wiring: PanelWiring) -> None:
    """Put the page there; raises OSError where nothing answers."""
    handle = os.open(f"/dev/i2c-{wiring.port}", os.O_RDWR | os.O_CLOEXEC)
    try:
        fcntl.ioctl(handle, _I2C_SLAVE, wiring.address)
        send(lambda message: os.write(handle, message), wiring)
    finally:
        os.close(handle)


def send(write: Callable[[bytes], object], wiring: PanelWiring) -> None:
    """The messages of a page: set up, picture, light on."""
    lines = _OTHER_LINES.get((wiring.kind, wiring.height), _LINES[wiring.height])
    write(bytes((_COMMANDS, *_SET_UP[wiring.kind], *lines, 0xA7 if wiring.inverse else 0xA6, *_CONTRAST)))
    page = PAGES[wiring.height]
    if wiring.rotation:
        page = page[::-1].translate(_MIRRORED)
    first = _FIRST_COLUMN.get(wiring.kind, 0)
    for number in range(wiring.height // 8):
        write(bytes((_COMMANDS, 0xB0 + number, first & 0x0F, 0x10 | first >> 4)))
        row = page[number * _COLUMNS : (number + 1) * _COLUMNS]
        for begin in range(0, _COLUMNS, _PART):
            write(bytes((_DATA,)) + row[begin : begin + _PART])
    write(bytes((_COMMANDS, _ON)))
