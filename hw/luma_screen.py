"""Bitmaps -> a small OLED panel by luma.oled: only the columns that changed go over the bus.

luma sends whole frames to these three controllers, 23 ms each on I2C at 400 kHz; a moving string changes a fraction.
The commands are the controllers' own (data sheets, from memory): a window of columns and pages (21h, 22h) for SSD1306
and SSD1309; page and first column (B0h, 00h, 10h) for SH1106, whose memory has 132 columns and shows the middle 128.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator
from typing import Any, Literal

import luma.core.device
import luma.core.error
import luma.oled.device
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from hw.luma_bus import Bus, Wiring
from pedal.errors import DeviceError
from pedal.values import frozen

Chip = Literal["ssd1306", "ssd1309", "sh1106"]
CHIPS: tuple[Chip, ...] = ("ssd1306", "ssd1309", "sh1106")
COLUMNS = 128
SH1106_FIRST_COLUMN = 2
JOIN_COLUMNS = 10
"""Runs of changed columns nearer than this go together: a run of its own costs about ten more bytes of commands."""
_APART = bytes(JOIN_COLUMNS)
"""So many columns in a row that did not change part two runs."""
SCAN_S = 0.5 / 105
"""Half a scan of the panel, the mean wait from memory to light. Data sheet, from memory: about 105 scans a second."""
EASE = 0.1
"""Weight of the newest transfer in the running mean that `delay_s` tells."""
FULL_BRIGHTNESS = 255
NOP, DISPLAY_OFF = 0xE3, 0xAE
_BIT_OF_ROW = (1 << np.arange(8, dtype=np.uint8))[:, np.newaxis]
RENEW_S, RENEW_AT_LAST_S = 10.0, 30.0
"""A panel whose supply sagged answers, and shows nothing: it is set up anew, at once where nothing moves, else
later."""


@frozen
class Run:
    """Changed columns `first` to `last` (both included) of one page."""

    page: int
    first: int
    last: int


class LumaScreen:
    """One panel, opened and cleared by the constructor; after a fault, close it and make a new one.

    height : dots down, 64 or 32; it has 128 across.
    contrast : 0 to 1, the brightness that `dim` calls 1.

    Raises `ValueError` for another chip, `DeviceError` for a panel that does not answer.
    """

    def __init__(
        self,
        wiring: Wiring,
        *,
        chip: Chip = "ssd1306",
        height: int = 64,
        contrast: float = 1.0,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        if chip not in CHIPS:
            raise ValueError(f"chip must be one of {', '.join(CHIPS)}, got {chip!r}")
        self._wiring, self._chip, self._height, self._contrast, self._clock = wiring, chip, height, contrast, clock
        self._shown: NDArray[np.uint8] | None = None
        self._lit, self._brightness = True, round(FULL_BRIGHTNESS * contrast)
        self._set_up: tuple[int, ...] = ()
        self._renewed_s: float | None = None
        self.delay_s = SCAN_S
        with self._translated():
            self._device: Any = self._start()

    def _start(self) -> Any:
        """The device on an open bus, which is let go where the start fails.

        It is asked for an answer first: luma's class takes far longer to make than a panel that is gone to be told.
        """
        bus = _Recorded(self._wiring.connect())
        try:
            bus.command(NOP)
            device = self._kind()(bus, width=COLUMNS, height=self._height)
            device.persist = True  # or luma darkens and clears it a second time as it is let go
            # luma sets a controller up in one command that begins by putting it out; said again without that, it is
            # not seen.
            self._set_up = next(command[1:] for command in bus.commands if command[0] == DISPLAY_OFF)
            bus.commands.clear()
            bus.recording = False
            device.contrast(self._brightness)
        except BaseException:
            bus.cleanup()
            raise
        return device

    def _kind(self) -> Any:
        """The library's class, but cleared as a picture is sent: its own looks at each dot, one by one."""
        luma_kind: Any = getattr(luma.oled.device, self._chip)
        blank = np.zeros((self._height // 8, COLUMNS), np.uint8)
        send = self._send

        class Kind(luma_kind, _Unhooked):  # type: ignore[misc]
            def clear(self) -> None:
                send(changed_runs(None, blank), blank, self)

        return Kind

    def show(self, bitmap: Image.Image) -> None:
        """Send what changed since the last picture; after a fault the whole of it.

        Raises `ValueError` for a picture of another size, `DeviceError` where the panel no longer answers.
        """
        pages = pack(bitmap)
        if pages.shape != (self._height // 8, COLUMNS):
            raise ValueError(f"the picture must be {COLUMNS} x {self._height}, got {bitmap.width} x {bitmap.height}")
        shown, self._shown = self._shown, None  # unknown, should the transfer fail half-way
        began_s = self._clock()
        runs = changed_runs(shown, pages)
        self._renewed_s = began_s if self._renewed_s is None else self._renewed_s
        if began_s - self._renewed_s >= (RENEW_AT_LAST_S if runs else RENEW_S):
            self._renew(pages)
            self._shown, self._renewed_s = pages, began_s
            return  # its time is no frame's
        with self._translated():
            self._send(runs, pages, self._device)
        self._shown = pages
        self.delay_s += EASE * (SCAN_S + self._clock() - began_s - self.delay_s)

    def _renew(self, pages: NDArray[np.uint8]) -> None:
        """Set up anew what may have lost its power for a moment; nothing of it is seen where it has not.

        The picture is there before the light goes on: a controller that woke up holds noise.
        """
        with self._translated():
            self._device.command(*self._set_up)
            self._send(changed_runs(None, pages), pages, self._device)
            self._device.contrast(self._brightness)
            if self._lit:
                self._device.show()

    def _send(self, runs: list[Run], pages: NDArray[np.uint8], device: Any) -> None:
        for run in runs:
            self._address(run, device)
            device.data(pages[run.page, run.first : run.last + 1].tolist())

    def dim(self, share: float) -> None:
        """Brightness 0 (off) to 1 (the configured contrast)."""
        with self._translated():
            if share <= 0.0:
                self._device.hide()
                self._lit = False
                return
            self._brightness = round(FULL_BRIGHTNESS * self._contrast * min(1.0, share))
            self._device.contrast(self._brightness)
            if not self._lit:
                self._device.show()
                self._lit = True

    def close(self) -> None:
        """Dark, and the bus let go; a panel that no longer answers is let go all the same."""
        device, self._device = self._device, None
        if device is None:
            return
        for step in (device.hide, device.cleanup):
            with contextlib.suppress(luma.core.error.Error, OSError, DeviceError):  # of a command, of data, of a pin
                step()

    def _address(self, run: Run, device: Any) -> None:
        if self._chip == "sh1106":
            column = run.first + SH1106_FIRST_COLUMN
            device.command(0xB0 | run.page, column & 0x0F, 0x10 | column >> 4)
        else:
            device.command(0x21, run.first, run.last, 0x22, run.page, run.page)

    @contextlib.contextmanager
    def _translated(self) -> Iterator[None]:
        """A missing answer comes as luma's own class from a command, as a bare OSError from data.

        What a pin's library raises is a DeviceError already (`hw.pin_library.told`).
        """
        try:
            yield
        except (luma.core.error.Error, OSError, ImportError) as fault:
            told = getattr(fault, "strerror", None) or str(fault)
            raise DeviceError(f"{self._wiring.where} does not answer ({told}): {self._wiring.remedy}") from fault


class _Unhooked(luma.core.device.device):  # type: ignore[misc]
    """luma's device without its hook at the end of the program, which keeps each until then; `close` lets it go.

    It stands for luma's own in whatever class is made of one of its controllers and this.
    """

    def __init__(self, const: Any, serial_interface: Any) -> None:
        self._const, self._serial_interface = const, serial_interface


class _Recorded:
    """A bus that remembers the commands of a device's start."""

    def __init__(self, bus: Bus) -> None:
        self._bus = bus
        self.commands: list[tuple[int, ...]] = []
        self.recording = True

    def command(self, *cmd: int) -> None:
        if self.recording:
            self.commands.append(cmd)
        self._bus.command(*cmd)

    def data(self, data: list[int]) -> None:
        self._bus.data(data)

    def cleanup(self) -> None:
        self._bus.cleanup()


def pack(bitmap: Image.Image) -> NDArray[np.uint8]:
    """Mode "1" picture -> pages of eight rows: (height / 8, width) bytes, the least significant bit on top."""
    # As "L" a lit dot is a byte of ones: cut down to the bit of its row, a page is its eight rows on top of each other.
    rows = np.frombuffer(bitmap.tobytes("raw", "L"), np.uint8).reshape(bitmap.height // 8, 8, bitmap.width)
    pages: NDArray[np.uint8] = np.bitwise_or.reduce(rows & _BIT_OF_ROW, axis=1)
    return pages


def changed_runs(shown: NDArray[np.uint8] | None, wanted: NDArray[np.uint8]) -> list[Run]:
    """Which columns to send, page by page; all of them if nothing is known of what is shown."""
    width = wanted.shape[1]
    if shown is None:
        return [Run(page, 0, width - 1) for page in range(len(wanted))]
    changed, runs = (shown != wanted).tobytes(), list[Run]()
    for page in range(len(wanted)):
        columns = changed[page * width : (page + 1) * width]
        first = columns.find(1)
        while first >= 0:
            apart = columns.find(_APART, first)
            last = apart - 1 if apart > 0 else columns.rfind(1)
            runs.append(Run(page, first, last))
            first = columns.find(1, last + 1)
    return runs
