"""Bitmaps -> a text terminal: four rows and two columns of dots in each cell, so that 128 x 64 fits 80 x 24.

Braille patterns show the dots; a terminal whose encoding lacks them gets plain characters for two by three dots.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import sys
from collections.abc import Sequence
from typing import TextIO

import numpy as np
from PIL import Image

from pedal.errors import DeviceError

ENTER = "\x1b[?1049h\x1b[?25l\x1b[2J"
"""The other page of the terminal, so that what stood there comes back; no cursor."""
LEAVE = "\x1b[?25h\x1b[?1049l"
CLEAR = "\x1b[2J"
BRAILLE = 0x2800
BRAILLE_DOTS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
"""Bit of each dot, row by row. Source: The Unicode Standard, block Braille Patterns, U+2800 to U+28FF."""
PLAIN = " '-^._:#"
"""By which thirds of the cell are lit: upper 1, middle 2, lower 4."""


class TerminalScreen:
    """The panel on the terminal's other page, with captions below; rewrites only the lines that changed.

    Raises `DeviceError` where the output is no terminal that can draw.
    """

    delay_s = 0.0

    def __init__(self, out: TextIO | None = None, *, captions: Sequence[str] = (), plain: bool | None = None) -> None:
        self._out = out if out is not None else sys.stdout
        if not self._out.isatty() or os.environ.get("TERM", "dumb") == "dumb":
            raise DeviceError(
                "the picture needs a text terminal, and the output goes elsewhere: "
                "start undertoe in a terminal, or add --headless or --png"
            )
        self._captions = tuple(captions)
        self._plain = not _has_braille(self._out) if plain is None else plain
        self._lines: list[str] = []
        self._size = (0, 0)
        self._blank = False
        self._bitmap: Image.Image | None = None
        self._open = True
        atexit.register(self.close)
        self._send(ENTER)

    def show(self, bitmap: Image.Image) -> None:
        """Draw the picture; a window that is too small says so instead."""
        self._bitmap = bitmap.copy()
        seen = Image.new("1", bitmap.size) if self._blank else bitmap
        lines = plain_cells(seen) if self._plain else framed(braille_cells(seen))
        columns, rows = len(lines[0]), len(lines) + len(self._captions)
        size = self._window()
        if size[0] < columns or size[1] < rows:
            lines = [f"Window {size[0]} x {size[1]}: make it {columns} x {rows} or more."[: size[0]]]
        else:
            lines += [caption[: size[0]] for caption in self._captions]
        fresh = size != self._size or len(lines) != len(self._lines)
        shown = [] if fresh else self._lines
        self._size, self._lines = size, lines
        changed = [
            f"\x1b[{number};1H{line}\x1b[K"
            for number, line in enumerate(lines, 1)
            if number > len(shown) or shown[number - 1] != line
        ]
        if changed:
            self._send((CLEAR if fresh else "") + "".join(changed))

    def dim(self, share: float) -> None:
        """A terminal has no brightness; blank is black."""
        blank = share <= 0.0
        if blank != self._blank:
            self._blank = blank
            if self._bitmap is not None:
                self.show(self._bitmap)

    def close(self) -> None:
        """Give the terminal back as it was, once."""
        if not self._open:
            return
        self._open = False
        atexit.unregister(self.close)
        with contextlib.suppress(DeviceError, ValueError):  # a terminal that is gone needs nothing back
            self._send(LEAVE)

    def _window(self) -> tuple[int, int]:
        try:
            return tuple(os.get_terminal_size(self._out.fileno()))  # type: ignore[return-value]
        except OSError as fault:
            raise _gone(fault) from fault

    def _send(self, text: str) -> None:
        try:
            self._out.write(text)
            self._out.flush()
        except OSError as fault:
            raise _gone(fault) from fault


def braille_cells(bitmap: Image.Image) -> list[str]:
    """Lines of braille patterns, two dots by four a cell: 64 x 16 for a panel of 128 x 64."""
    cells = _dots(bitmap).reshape(bitmap.height // 4, 4, bitmap.width // 2, 2)
    codes = BRAILLE + np.einsum("rycx,yx->rc", cells, BRAILLE_DOTS)
    return ["".join(chr(c) for c in line).replace(chr(BRAILLE), " ") for line in codes.tolist()]


def plain_cells(bitmap: Image.Image) -> list[str]:
    """Lines of plain characters, two dots by three a cell: 64 x 22 for a panel of 128 x 64."""
    dots = _dots(bitmap)
    dots = np.pad(dots, ((0, -bitmap.height % 3), (0, 0)))
    thirds = dots.reshape(-1, 3, bitmap.width // 2, 2).any(axis=3)
    codes = np.einsum("rtc,t->rc", thirds, np.array([1, 2, 4]))
    return ["".join(PLAIN[c] for c in line) for line in codes.tolist()]


def framed(lines: Sequence[str]) -> list[str]:
    """The lines inside a thin frame, which shows where the panel ends."""
    rule = "─" * len(lines[0])
    return [f"┌{rule}┐", *(f"│{line}│" for line in lines), f"└{rule}┘"]


def _dots(bitmap: Image.Image) -> np.ndarray:
    return np.asarray(bitmap, dtype=np.uint8)


def _has_braille(out: TextIO) -> bool:
    try:
        chr(BRAILLE).encode(out.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _gone(fault: OSError) -> DeviceError:
    return DeviceError(f"the terminal is gone ({fault.strerror}); start undertoe again in a new one")
