"""A terminal of 24 lines that understands just what the terminal screen may send, on a real pseudo-terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import termios
import threading
import tty
from io import TextIOWrapper

import numpy as np
from PIL import Image

TOKEN = re.compile(r"\x1b\[(\?1049|\?25|\d+;\d+|\d*)([hlHJK])|([^\x1b]+)")
DOTS = [(0, 0), (1, 0), (2, 0), (0, 1), (1, 1), (2, 1), (3, 0), (3, 1)]
"""Row and column of each bit of a braille pattern, from The Unicode Standard: dots 1 2 3 4 5 6 7 8."""


class SeenTerminal:
    """Both ends of a pseudo-terminal; `lines()` is what a reader would see."""

    def __init__(self, columns: int = 80, rows: int = 24) -> None:
        self.far, near = pty.openpty()
        tty.setraw(near)
        self.resize(columns, rows, near)
        self.out = TextIOWrapper(os.fdopen(near, "wb", buffering=0), encoding="utf-8", write_through=True)
        self.cells: dict[int, str] = {}
        self.cursor_shown, self.other_page = True, False
        self.heard = ""
        self.raw = b""
        self.hung_up = False
        self.wake_in, self.wake_out = os.pipe()
        self.lock = threading.Lock()
        self.reader = threading.Thread(target=self.listen)
        self.reader.start()

    def resize(self, columns: int, rows: int, fd: int | None = None) -> None:
        size = struct.pack("HHHH", rows, columns, 0, 0)
        fcntl.ioctl(self.out.fileno() if fd is None else fd, termios.TIOCSWINSZ, size)

    def listen(self) -> None:
        while True:
            ready, _, _ = select.select([self.far, self.wake_in], [], [])
            if self.wake_in in ready:
                return
            with self.lock:
                self.raw += os.read(self.far, 65536)

    def settle(self) -> None:
        """Wait until what was written has come through: a mark is sent after it, and awaited."""
        mark = b"\x00"
        with self.lock:
            before = self.raw.count(mark)
        self.out.write("\x00")
        deadline = threading.Event()
        for _ in range(12_000):
            with self.lock:
                if self.raw.count(mark) > before:
                    return
            deadline.wait(0.005)
        raise AssertionError("the terminal did not take what was written")

    def read(self) -> None:
        self.settle()
        with self.lock:
            text, self.raw = self.raw.decode("utf-8").replace("\x00", ""), b""
        self.heard += text
        row = 1
        for place, verb, words in TOKEN.findall(text):
            if words:
                self.cells[row] = words
            elif verb == "H":
                row = int(place.split(";")[0])
            elif verb == "J":
                self.cells.clear()
            elif place == "?25":
                self.cursor_shown = verb == "h"
            elif place == "?1049":
                self.other_page = verb == "h"

    def lines(self) -> list[str]:
        self.read()
        return [self.cells.get(row, "") for row in range(1, 25)]

    def image(self, height: int = 64) -> Image.Image:
        """The dots of the braille patterns inside the frame."""
        lines = self.lines()[1 : 1 + height // 4]
        dots = np.zeros((height, 128), np.uint8)
        for row, line in enumerate(lines):
            for column, cell in enumerate(line[1:65]):
                code = ord(cell) - 0x2800 if cell != " " else 0
                for bit, (down, along) in enumerate(DOTS):
                    dots[4 * row + down, 2 * column + along] = 255 * (code >> bit & 1)
        return Image.fromarray(dots).convert("1", dither=Image.Dither.NONE)

    def hang_up(self) -> None:
        """The window is closed while the program runs."""
        if not self.hung_up:
            self.hung_up = True
            os.write(self.wake_out, b".")
            self.reader.join(60)
            for end in (self.far, self.wake_in, self.wake_out):
                os.close(end)

    def close(self) -> None:
        self.hang_up()
        self.out.close()
