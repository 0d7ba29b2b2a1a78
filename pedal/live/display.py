"""Frames -> panel and lamp, in a thread of its own; a panel that stops answering is dropped and tried again.

A lamp that fails stays out: its fault is told, and the panel goes on.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from pedal.errors import DeviceError
from pedal.live.messages import Frame
from pedal.live.worker import Mailbox
from pedal.modes.lamp_rhythm import LampRhythm
from pedal.modes.screen_model import MessageScreen
from pedal.ports import Lamp, Screen

if TYPE_CHECKING:
    from PIL import Image

    from pedal.modes.screen_model import ScreenModel
    from pedal.modes.state import Density

Shift = tuple[int, int]
RETRY_S = 2.0
AGAIN_S = 10.0
"""So often a panel is shown what it shows already: it may have lost its power for a moment, and sets itself up anew."""
_PATIENCE_S = 0.1
_RHYTHM_S = 1 / 30


class PanelDisplay:
    """Shows the newest frame. `fault` is the panel's last complaint, "" while it answers; `lamp_fault` the lamp's.

    make_screen : called at the start and after every failure; None for a lamp alone.
    draw : a frame as a picture of the panel's size, moved by columns and rows.
    brightness : seconds since the player was last heard -> share of full brightness.
    shift : seconds of showing -> where the picture wanders.
    again_s : how often a picture that stands is shown again.
    """

    def __init__(
        self,
        frames: Mailbox[Frame],
        *,
        make_screen: Callable[[], Screen] | None,
        draw: Callable[[Frame, Shift], Image.Image],
        brightness: Callable[[float], float] = lambda _: 1.0,
        shift: Callable[[float], Shift] = lambda _: (0, 0),
        lamp: Lamp | None = None,
        again_s: float = float("inf"),
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.fault = self.lamp_fault = ""
        self.shown = 0
        self._frames, self._make_screen, self._draw = frames, make_screen, draw
        self._brightness, self._shift, self._lamp, self._clock = brightness, shift, lamp, clock
        self._begun_s = self._shown_s = clock()
        self._again_s = again_s
        self._screen: Screen | None = None
        self._retry_s = 0.0
        self._frame: Frame | None = None
        self._failed_over: Frame | None = None
        self._last: tuple[ScreenModel, Density, Shift] | None = None
        self._awake_s = clock()
        self._dimmed = 1.0
        self._rhythm = LampRhythm()

    @property
    def delay_s(self) -> float:
        """From a frame to its light, as far as the panel knows."""
        screen = self._screen
        return screen.delay_s if screen is not None else 0.0

    def work(self, stop: threading.Event) -> None:
        """Draw until told to stop, then blank the panel and put the lamp out.

        Called again after a fault, it makes the panel anew, since nobody knows what reached it. A frame that it failed
        over twice is given up.
        """
        frame = self._frame if self._frame is not self._failed_over else None
        self._failed_over = frame
        self._drop_screen()
        while not stop.is_set():
            # A frame comes when something changed; lamp, brightness and a dead panel go on meanwhile.
            frame = self._frames.take(_PATIENCE_S if self._lamp is None else _RHYTHM_S) or frame
            self._frame = frame
            if frame is not None:
                self._shine(frame)
                self._show(frame)
        last = self._frames.take(0.0)
        if last is not None:
            self._show(last)
        screen, self._screen = self._screen, None
        try:
            if screen is not None:
                screen.close()  # a film is written only now: should that fail, then so did the run
        finally:
            if self._lamp is not None:
                self._lamp.close()

    def _show(self, frame: Frame) -> None:
        """Nothing is sent for a picture that stands already."""
        now_s = self._clock()
        if frame.awake:
            self._awake_s = now_s
        try:
            screen = self._screen_or_none(now_s)
            if screen is None:
                return
            self._dim(screen, self._brightness(now_s - self._awake_s))
            picture = (frame.model, frame.density, self._shift(now_s - self._begun_s))
            if picture != self._last or now_s - self._shown_s >= self._again_s:
                screen.show(self._draw(frame, picture[2]))
                self.shown += picture != self._last
                self._last, self._shown_s = picture, now_s
        except DeviceError as fault:
            self.fault = str(fault)
            self._drop_screen()
            self._retry_s = now_s + RETRY_S

    def _screen_or_none(self, now_s: float) -> Screen | None:
        if self._screen is None and self._make_screen is not None and now_s >= self._retry_s:
            self._screen = self._make_screen()
            self._last, self._dimmed, self.fault = None, 1.0, ""
        return self._screen

    def _dim(self, screen: Screen, share: float) -> None:
        if share != self._dimmed:
            screen.dim(share)
            self._dimmed = share

    def _shine(self, frame: Frame) -> None:
        if self._lamp is None:
            return
        try:
            clipped = not isinstance(frame.model, MessageScreen) and frame.model.status.clipped
            self._lamp.shine(self._rhythm.level(self._clock(), frame.verdict, clipped=clipped))
        except DeviceError as fault:
            self.lamp_fault, self._lamp = str(fault), None

    def _drop_screen(self) -> None:
        screen, self._screen = self._screen, None
        if screen is not None:
            try:
                screen.close()
            except DeviceError as fault:
                self.fault = str(fault)
