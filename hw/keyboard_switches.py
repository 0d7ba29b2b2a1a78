"""Keys of a terminal -> the edges of footswitches.

A terminal tells of presses only, so the release is made up: a small letter or a digit is a tap, a capital a long press,
and the space bar before a key keeps that switch down until the key comes again.
"""

from __future__ import annotations

import contextlib
import os
import re
import selectors
import sys
import termios
import threading
import time
import tty
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TextIO

from pedal.errors import DeviceError

SwitchEdge = Callable[[float, int, bool], None]

TAP_S = 0.12
"""Longer than any debounce, shorter than any long press."""
LONG_S = 0.9
"""Midway between the long press and the held one, as delivered: on a switch that has both, it is the long one."""
TAPS = {"1": 1, "2": 2, "3": 3, "4": 4, "a": 1, "s": 2, "d": 3, "f": 4}
LONGS = {"A": 1, "S": 2, "D": 3, "F": 4}
GAP_S = TAP_S
"""A switch is up at least so long between two presses: else a contact takes them for one."""
REPEAT_S = 0.1
"""A terminal repeats a key that is held ten times a second or more (from memory)."""
ANSWERED_S = 0.62
"""The usual long press has had its answer by then, and the player may go on to the next."""
MOST_WAITING = 16
BOTH = {"b": TAP_S, "B": LONG_S}
STAY = " "
_SEQUENCE = re.compile(r"\x1b+(?:\[\[?[0-?]*[ -/]*(?:[@-~]|$)|O.|[^\x1b])?", re.DOTALL)
"""What one arrow or function key sends, or a letter with Alt: a control sequence of ECMA-48 (5.4, from memory; the
console of Linux doubles its bracket), or Escape and one letter more. One that breaks off goes to the end."""
MOST_TYPED = 4096
"""As much as a terminal of Linux keeps (N_TTY_BUF_SIZE): whatever waits is read at once, so no sequence is cut."""
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


@dataclass(slots=True)
class _Down:
    """A switch that is down: by which letter, since when, when that letter came last, and until when."""

    letter: str
    since_s: float
    typed_s: float
    due_s: float


class Presses:
    """Letters typed at known times -> edges; `next_due_s` is when the next made-up edge is due.

    The program answers a made-up press before its release, so a quick typist is ahead of the feet: a letter whose
    switch is still down by another one, or went up a moment ago, waits, and those after it wait behind it.
    """

    def __init__(self, edge: SwitchEdge, count: int) -> None:
        self._edge, self._count = edge, count
        self._down: dict[int, _Down] = {}
        self._up_s: dict[int, float] = {}
        self._waiting: deque[tuple[float, str, bool]] = deque()
        self._stay_next = False

    @property
    def next_due_s(self) -> float | None:
        """When `pass_time` has something to do; None if nothing is down for a set time and no letter waits."""
        due_s = [down.due_s for down in self._down.values() if down.due_s != float("inf")]
        if self._waiting:
            due_s.append(self._start_s(self._waiting[0]))
        return min(due_s, default=None)

    def type_letter(self, now_s: float, letter: str) -> None:
        """Press what the letter stands for, now or in its turn; letters without a meaning are passed over."""
        if letter == STAY:
            self._stay_next = not self._stay_next
            return
        stay, self._stay_next = self._stay_next, False
        if not self._switches(letter) or self._repeats(now_s, letter):
            return
        if len(self._waiting) < MOST_WAITING:
            self._waiting.append((now_s, letter, stay))
        self._press_waiting(now_s)

    def pass_time(self, now_s: float) -> None:
        """Let go and press what is due, each at its own time."""
        while (due_s := self.next_due_s) is not None and due_s <= now_s:
            for switch in sorted(self._down):
                if self._down[switch].due_s <= due_s:
                    self._release(self._down[switch].due_s, switch)
            self._press_waiting(due_s)

    def let_all_go(self, now_s: float) -> None:
        """Release everything; what waits is never pressed."""
        self._waiting.clear()
        for switch in sorted(self._down):
            self._release(now_s, switch)

    def _switches(self, letter: str) -> tuple[int, ...]:
        wanted = (1, 2) if letter in BOTH else (TAPS.get(letter) or LONGS.get(letter) or self._count + 1,)
        return tuple(switch for switch in wanted if switch <= self._count)

    def _repeats(self, now_s: float, letter: str) -> bool:
        """Whether a key that is held repeats itself: its switches stay down. A long press that was answered is over."""
        held = [down for s in self._switches(letter) if (down := self._down.get(s)) and down.due_s != float("inf")]
        if self._waiting:
            typed_s, last, _ = self._waiting[-1]
            return last == letter and now_s - typed_s <= REPEAT_S
        if not held or any(down.letter != letter for down in held):
            return False
        if any(now_s - down.typed_s > REPEAT_S and now_s - down.since_s >= ANSWERED_S for down in held):
            return False
        for down in held:
            down.typed_s, down.due_s = now_s, now_s + _lasts_s(letter)
        return True

    def _start_s(self, waiting: tuple[float, str, bool]) -> float:
        """When a letter can be pressed: once its switches were up long enough for a contact to be believed."""
        typed_s, letter, _ = waiting
        downs = [self._down[switch].due_s for switch in self._switches(letter) if switch in self._down]
        ups = [self._up_s[switch] for switch in self._switches(letter) if switch in self._up_s]
        free_s = [at_s + GAP_S for at_s in (*downs, *ups) if at_s != float("inf")]
        return max(typed_s, *free_s) if free_s else typed_s

    def _press_waiting(self, now_s: float) -> None:
        while self._waiting and self._start_s(self._waiting[0]) <= now_s:
            _, letter, stay = self._waiting.popleft()
            for switch in self._switches(letter):
                self._press(now_s, switch, letter, stay=stay)

    def _press(self, now_s: float, switch: int, letter: str, *, stay: bool) -> None:
        """Down for as long as the letter says; a switch that was kept down goes up instead."""
        if switch in self._down:
            self._release(now_s, switch)
            return
        self._down[switch] = _Down(letter, now_s, now_s, float("inf") if stay else now_s + _lasts_s(letter))
        self._edge(now_s, switch, True)

    def _release(self, at_s: float, switch: int) -> None:
        del self._down[switch]
        self._up_s[switch] = at_s
        self._edge(at_s, switch, False)


def _lasts_s(letter: str) -> float:
    return BOTH.get(letter) or (TAP_S if letter in TAPS else LONG_S)


def _take_keys_one_by_one(terminal: int) -> None:
    """No echo, no waiting for Return. Ctrl-C ends the program as ever; Ctrl-Z would leave our picture behind."""
    tty.setcbreak(terminal, termios.TCSADRAIN)
    manners = termios.tcgetattr(terminal)
    for key in (termios.VSUSP, termios.VQUIT):
        manners[6][key] = NO_KEY
    termios.tcsetattr(terminal, termios.TCSADRAIN, manners)


def _read_typed(source: int) -> str | None:
    """What was typed, without what arrow and function keys send; None if the terminal hung up."""
    try:
        typed = os.read(source, MOST_TYPED)
    except OSError:
        return None
    return _SEQUENCE.sub("", typed.decode("ascii", "replace")) if typed else None
