"""Settings that cannot be used, in a pedal that nobody watches: shown on the panel, and tried again when the file
changes.

A service that ended here would be a dark box on a stage: its player has no journal.
"""

from __future__ import annotations

import contextlib
import re
import signal
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

from pedal.errors import DeviceError, SettingsError
from pedal.live import service_manager
from pedal.modes.screen_model import MessageScreen

if TYPE_CHECKING:
    from pedal.live.loop import Signalled
    from pedal.modes.state import Density
    from pedal.ports import Screen
    from pedal.settings.parts import Display

Outcome = Literal["again", "stopped", "interrupted"]
LOOK_S = 1.0
"""How often the file is looked at, and the panel shown to: a panel that was not there may be by now."""
STATUS = "the settings are broken: correct the file, it is taken up by itself"
_LINE = re.compile(r"^.*?:(\d+): ")


def until_mended(
    file: Path,
    fault: SettingsError,
    *,
    signals: Signalled,
    say: Callable[[str], None],
    display: Display,
    make_screen: Callable[[Display], Screen] | None,
    clock: Callable[[], float] = time.monotonic,
) -> Outcome:
    """Say every fault, show the first ones, and wait until the file is another, SIGHUP comes, or the end.

    display : how the panel is wired, as far as this file, the card and the set-up say; the defaults for the rest.
    make_screen : None for a pedal without a panel.
    """
    for sentence in fault.faults:
        say(sentence)
    say(STATUS)
    service_manager.ready()
    service_manager.notify(f"STATUS={STATUS}")
    seen, shown = _stamp(file), _Shown(make_screen, display, fault_page(fault.faults))
    look_s = clock()
    try:
        while True:
            came = signals.wait(LOOK_S)
            if came == signal.SIGTERM:
                return "stopped"
            if came == signal.SIGINT:
                return "interrupted"
            if came == signal.SIGHUP or _stamp(file) != seen:
                return "again"
            if clock() >= look_s:
                look_s = clock() + LOOK_S
                service_manager.notify("WATCHDOG=1")
                shown.again()
    finally:
        shown.close()


class _Shown:
    """A message on a panel that may be missing, and come."""

    def __init__(self, make_screen: Callable[[Display], Screen] | None, display: Display, model: MessageScreen) -> None:
        self._make_screen, self._display, self._model = make_screen, display, model
        self._screen: Screen | None = None

    def again(self) -> None:
        from pedal.screen.care import dressed
        from pedal.screen.drawing import draw

        if self._make_screen is None:
            return
        display = self._display
        try:
            self._screen = self._screen or self._make_screen(display)
            bitmap = draw(self._model, density=cast("Density", display.density), height=display.height)
            self._screen.show(dressed(bitmap, shift=(0, 0), inverse=display.inverse, rotation=display.rotation))
        except DeviceError:  # the journal says what is wrong with the settings; a panel may be what is wrong in them
            self.close()

    def close(self) -> None:
        screen, self._screen = self._screen, None
        if screen is not None:
            with contextlib.suppress(DeviceError):
                screen.close()


def fault_page(faults: Sequence[str]) -> MessageScreen:
    """The first faults without the name of the file, which the player knows: "line 3: capo: ..."."""
    return MessageScreen("SETTINGS", tuple(_LINE.sub(r"line \1: ", sentence) for sentence in faults[:3]))


def _stamp(file: Path) -> tuple[int, ...] | None:
    try:
        told = file.stat()
    except OSError:
        return None
    return told.st_mtime_ns, told.st_size, told.st_ino
