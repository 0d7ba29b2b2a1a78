"""Keys of a terminal -> the edges of footswitches.

A terminal tells of presses only, so the release is made up: a small letter or a digit is a tap, a capital a long press,
and the space bar before a key keeps that switch down until the key comes again.
"""

from __future__ import annotations

import contextlib
import os
import selectors
import sys
import termios
import threading
import time
import tty
from collections.abc import Callable
from typing import Any, TextIO

from pedal.errors import DeviceError

SwitchEdge = Callable[[float, int, bool], None]

TAP_S = 0.12
"""Longer than any debounce, shorter than any long press."""
LONG_S = 1.2
"""Longer than the long press of any sensible configuration; the gesture is known while the key is still down."""
TAPS = {"1": 1, "2": 2, "3": 3, "4": 4, "a": 1, "s": 2, "d": 3, "f": 4}
LONGS = {"A": 1, "S": 2, "D": 3, "F": 4}
BOTH = {"b": TAP_S, "B": LONG_S}
STAY = " "
NO_KEY = b"\0"
"""Switches a control key of the terminal off (POSIX: _POSIX_VDISABLE, 0 on Linux)."""
LEGEND = (
    "a s d f (or 1-4): tap a switch   A S D F: long press   b B: 1 and 2 together",
    "space, then a key: keep it down until the key comes again   Ctrl-C: leave",
)
"""Two lines for below the picture."""


class KeyboardSwitches:
    """Footswitches on the keys; the terminal gets its manners back in `close`."""

    def __init__(
        self, keys: TextIO | None = None, *, count: int = 4, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._keys = keys if keys is not None else sys.stdin
        self._count, self._clock = count, clock
        self._manners: list[Any] | None = None
        self._thread: threading.Thread | None = None
        self._wake_out = self._wake_in = -1

    def open(self, edge: SwitchEdge) -> None:
        """Read keys unechoed, one by one, on a thread of our own; raises DeviceError if they come from no terminal."""
        try:
            self._manners = termios.tcgetattr(self._keys.fileno())
            _take_keys_one_by_one(self._keys.fileno())
        except (termios.error, OSError, ValueError) as fault:
            raise DeviceError(
                "the keys stand for footswitches only in a terminal, and the input comes from elsewhere: "
                "start undertoe in a terminal, or add --headless"
            ) from fault
        self._wake_in, self._wake_out = os.pipe()
        self._thread = threading.Thread(target=self._read, args=(Presses(edge, self._count),), name="keyboard")
        self._thread.start()

    def close(self) -> None:
        """Stop reading, let every key go, and give the terminal its manners back; safe to call twice."""
        if self._thread is not None:
            os.write(self._wake_out, b".")
            self._thread.join()
            self._thread = None
            os.close(self._wake_in)
            os.close(self._wake_out)
        if self._manners is not None:
            with contextlib.suppress(termios.error, OSError, ValueError):  # the terminal may have gone before us
                termios.tcsetattr(self._keys.fileno(), termios.TCSADRAIN, self._manners)
            self._manners = None

    def _read(self, presses: Presses) -> None:
        source = self._keys.fileno()
        with selectors.DefaultSelector() as ready:
            ready.register(source, selectors.EVENT_READ)
            ready.register(self._wake_in, selectors.EVENT_READ)
            while True:
                due_s = presses.next_due_s
                woken = {key.fd for key, _ in ready.select(None if due_s is None else max(0.0, due_s - self._clock()))}
                presses.pass_time(self._clock())
                if self._wake_in in woken:
                    break
                if source in woken:
                    typed = _read_typed(source)
                    if typed is None:
                        break
                    for letter in typed:
                        presses.type_letter(self._clock(), letter)
        presses.let_all_go(self._clock())


class Presses:
    """Letters typed at known times -> edges; `next_due_s` is when the next made-up release is due."""

    def __init__(self, edge: SwitchEdge, count: int) -> None:
        self._edge, self._count = edge, count
        self._down: dict[int, float] = {}
        self._stay_next = False

    @property
    def next_due_s(self) -> float | None:
        """When `pass_time` has something to do; None if nothing is down for a set time."""
        return min((due_s for due_s in self._down.values() if due_s != float("inf")), default=None)

    def type_letter(self, now_s: float, letter: str) -> None:
        """Press what the letter stands for; letters without a meaning are passed over."""
        if letter == STAY:
            self._stay_next = not self._stay_next
            return
        stay, self._stay_next = self._stay_next, False
        if letter in BOTH:
            for switch in (1, 2):
                self._press(now_s, switch, float("inf") if stay else now_s + BOTH[letter])
        elif letter in TAPS:
            self._press(now_s, TAPS[letter], float("inf") if stay else now_s + TAP_S)
        elif letter in LONGS:
            self._press(now_s, LONGS[letter], now_s + LONG_S)

    def pass_time(self, now_s: float) -> None:
        """Let go what is due, each at its own time."""
        for switch, due_s in sorted(self._down.items(), key=lambda pair: pair[1]):
            if due_s <= now_s:
                self._release(due_s, switch)

    def let_all_go(self, now_s: float) -> None:
        """Release everything."""
        for switch in sorted(self._down):
            self._release(now_s, switch)

    def _press(self, now_s: float, switch: int, due_s: float) -> None:
        """Down until `due_s`; a switch that was kept down goes up instead, and a key that repeats itself stays down."""
        if switch > self._count:
            return
        if self._down.get(switch) == float("inf"):
            self._release(now_s, switch)
            return
        if switch not in self._down:
            self._edge(now_s, switch, True)
        self._down[switch] = due_s

    def _release(self, at_s: float, switch: int) -> None:
        del self._down[switch]
        self._edge(at_s, switch, False)


def _take_keys_one_by_one(terminal: int) -> None:
    """No echo, no waiting for Return. Ctrl-C ends the program as ever; Ctrl-Z would leave our picture behind."""
    tty.setcbreak(terminal, termios.TCSADRAIN)
    manners = termios.tcgetattr(terminal)
    for key in (termios.VSUSP, termios.VQUIT):
        manners[6][key] = NO_KEY
    termios.tcsetattr(terminal, termios.TCSADRAIN, manners)


def _read_typed(source: int) -> str | None:
    """What was typed, up to the escape sequence of an arrow or function key; None if the terminal hung up."""
    try:
        typed = os.read(source, 64)
    except OSError:
        return None
    return typed.decode("ascii", "replace").partition("\x1b")[0] if typed else None
