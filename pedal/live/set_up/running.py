"""The set-up's own loop: presses and what devices answer go in, pages and wishes come out."""

from __future__ import annotations

import contextlib
import queue
import signal
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

from pedal.errors import DeviceError
from pedal.live import service_manager
from pedal.live.set_up.devices import Devices
from pedal.live.set_up.feet import Feet
from pedal.live.set_up.work import Work
from pedal.modes.screen_model import TuneScreen
from pedal.screen.care import dressed
from pedal.screen.drawing import draw
from pedal.screen.setup_page import draw_set_up
from pedal.setup.event import Passed, SetUpEvent, Trouble
from pedal.setup.machine import Record, SetUp
from pedal.setup.wish import Nothing, TryPanel, Wish

if TYPE_CHECKING:
    from PIL import Image

    from pedal.live.loop import Signalled
    from pedal.ports import Screen
    from pedal.settings.parts import Display
    from pedal.setup.choice import PanelChoice
    from pedal.setup.step import SetUpPage
    from pedal.verdicts.aim import Aim

Outcome = Literal["over", "forsaken", "stopped", "interrupted"]
TICK_S = 0.05
MOST_EVENTS = 4096
"""Ten seconds of readings: more of them wait only for a loop that hangs, and then they are dropped."""
RETRY_S = 2.0
FEED_S = 1.0
"""How often the service manager is told that all is well."""
AGAIN_S = 10.0
"""A page that stands is shown again: the panel may have lost its power for a moment."""


class Running:
    """`run` carries one set-up out.

    elsewhere : a screen that shows every page, such as the terminal; None for the panel alone.
    failed : told of each fault of ours, from the thread that failed over it.
    panel : the one to show pages on until the set-up has found another; None for none yet.
    waits : whether it goes on for ever when nobody presses anything.
    """

    def __init__(
        self,
        machine: SetUp,
        devices: Devices,
        *,
        aim: Aim,
        display: Display,
        feet: Feet,
        elsewhere: Screen | None,
        panel: PanelChoice | None,
        keep: Callable[[Record], None],
        say: Callable[[str], None],
        failed: Callable[[Exception], None],
        signals: Signalled,
        waits: bool = True,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._machine, self._devices, self._aim, self._display = machine, devices, aim, display
        self._feet, self._elsewhere = feet, elsewhere
        self._keep, self._say, self._failed = keep, say, failed
        self._signals, self._waits, self._clock = signals, waits, clock
        self._events: queue.Queue[tuple[int, SetUpEvent]] = queue.Queue(MOST_EVENTS)
        self._wish: Wish = Nothing()
        self._number = 0
        self._work: Work | None = None
        self._wanted = self._before = panel
        self._panel: Screen | None = None
        self._open: PanelChoice | None = None
        self._retry_s = self._shown_s = float("-inf")
        self._page: SetUpPage | TuneScreen | None = None
        self._kept: Record = {}
        self._step = ""

    def run(self) -> Outcome:
        """Until all steps are through, a foot leaves, or a signal comes."""
        now_s = fed_s = self._clock()
        self._kept = dict(self._machine.record)
        try:
            while True:
                self._follow_wish()
                self._show()
                came = self._signals.wait(TICK_S)
                if came == signal.SIGTERM:
                    return "stopped"
                if came == signal.SIGINT:
                    return "interrupted"
                before_s, now_s = now_s, self._clock()
                self._take_in(now_s, now_s - before_s)
                if self._machine.finished:
                    return "over"
                if self._machine.forsaken and not self._waits:
                    return "forsaken"
                if now_s - fed_s >= FEED_S:
                    fed_s = now_s
                    service_manager.notify("WATCHDOG=1")
        finally:
            if self._work is not None:
                self._work.stop()
            self._drop_panel()

    def _take_in(self, now_s: float, passed_s: float) -> None:
        machine = self._machine
        for event in self._feet.felt(now_s):
            machine.step(event)
        while True:
            try:
                number, event = self._events.get_nowait()
            except queue.Empty:
                break
            if number == self._number:  # what an older wish still says is of no interest
                machine.step(event)
        machine.step(Passed(passed_s))
        if machine.step_name != self._step:
            self._step = machine.step_name
            if self._step == "switches" and self._feet.fault:
                machine.step(Trouble(self._feet.fault))
        while machine.said:
            self._say(machine.said.pop(0))
        if machine.record != self._kept:  # at once: the power may go in the middle
            self._kept = dict(machine.record)
            self._keep(self._kept)

    def _follow_wish(self) -> None:
        wish = self._machine.wish
        if wish == self._wish:
            return
        if self._work is not None:
            self._work.stop()
            self._work = None
        self._wish = wish
        self._number += 1
        # One that was only tried is no panel for other pages: it may be the wrong controller, or upside down.
        wanted = wish.choice if isinstance(wish, TryPanel) else self._machine.panel or self._before
        if isinstance(wish, TryPanel) or wanted != self._wanted:
            self._wanted, self._retry_s = wanted, float("-inf")
        if not isinstance(wish, Nothing | TryPanel):
            number = self._number
            self._work = Work(wish, self._devices, self._aim, lambda event: self._tell(number, event), self._failed)

    def _tell(self, number: int, event: SetUpEvent) -> None:
        with contextlib.suppress(queue.Full):
            self._events.put_nowait((number, event))

    def _show(self) -> None:
        page, now_s = self._machine.screen(), self._clock()
        stale = now_s - self._shown_s >= AGAIN_S
        if page != self._page or stale:
            if self._elsewhere is not None:
                self._elsewhere.show(self._picture(page))
            self._page, self._shown_s, changed = page, now_s, True
        else:
            changed = False
        if self._wanted is None:
            self._drop_panel()
            return
        if self._wanted == self._open and not changed:
            return
        try:
            if self._wanted != self._open:
                if now_s < self._retry_s:
                    return
                self._drop_panel()
                self._panel, self._open = self._devices.panel(self._wanted), self._wanted
            assert self._panel is not None
            turned = dressed(self._picture(page), inverse=self._display.inverse, rotation=self._wanted.rotation)
            self._panel.show(turned)
        except DeviceError as fault:
            self._drop_panel()
            self._retry_s = now_s + RETRY_S
            if isinstance(self._wish, TryPanel):
                self._machine.step(Trouble(str(fault)))

    def _picture(self, page: SetUpPage | TuneScreen) -> Image.Image:
        height = self._display.height
        return draw(page, height=height) if isinstance(page, TuneScreen) else draw_set_up(page, height=height)

    def _drop_panel(self) -> None:
        panel, self._panel, self._open = self._panel, None, None
        if panel is not None:
            with contextlib.suppress(DeviceError):
                panel.close()
