"""Pins nobody knows yet, and keys -> presses; a contact that is closed from the start is no foot."""

from __future__ import annotations

import contextlib
import queue
from collections.abc import Callable, Iterable
from functools import partial

from pedal.errors import DeviceError
from pedal.modes.gesture import Felt, GestureRecogniser, GestureTimes, Wishes
from pedal.modes.input_events import Gesture
from pedal.ports import Switches
from pedal.setup.event import PinDown, Press, SetUpEvent

TIMES = GestureTimes(held_s=2.5)
"""Leaving the whole set-up takes longer than leaving one step."""
MOST_EDGES = 256
_KEYS = 100
"""Numbers of keys lie above those of pins."""


class Feet:
    """`felt(now_s)` gives what came since; `fault` says why no pin could be watched, "" if one is.

    watch : a pin -> its switch, opened one by one: another program may hold some of them.
    """

    def __init__(
        self, pins: tuple[int, ...], watch: Callable[[tuple[int, ...]], Switches], keys: Switches | None = None
    ) -> None:
        self.fault = ""
        self._edges: queue.Queue[tuple[float, int, bool]] = queue.Queue(MOST_EDGES)
        self._opened: list[Switches] = []
        numbers = frozenset((*pins, *range(_KEYS, _KEYS + 5)))
        self._recogniser = GestureRecogniser(Wishes(long=numbers, held=numbers), TIMES)
        self._closed_from_the_start: set[int] = set()
        for pin in pins:
            self._open(watch, pin)
        if self._opened:
            self.fault = ""
        self._closed_from_the_start = self._down_already()
        if keys is not None:
            keys.open(lambda time_s, key, pressed: self._contact(_KEYS + key, time_s, 1, pressed))
            self._opened.append(keys)

    def _open(self, watch: Callable[[tuple[int, ...]], Switches], pin: int) -> None:
        try:
            switch = watch((pin,))
            switch.open(partial(self._contact, pin))
            self._opened.append(switch)
        except DeviceError as fault:
            self.fault = self.fault or str(fault)

    def _contact(self, number: int, time_s: float, _: int, pressed: bool) -> None:
        with contextlib.suppress(queue.Full):
            self._edges.put_nowait((time_s, number, pressed))

    def _down_already(self) -> set[int]:
        down: set[int] = set()
        with contextlib.suppress(queue.Empty):
            while True:
                _, number, pressed = self._edges.get_nowait()
                (down.add if pressed else down.discard)(number)
        return down

    def felt(self, now_s: float) -> list[SetUpEvent]:
        """Contacts, and presses that have become certain."""
        felt: list[SetUpEvent] = []
        with contextlib.suppress(queue.Empty):
            while True:
                time_s, number, pressed = self._edges.get_nowait()
                if number in self._closed_from_the_start:
                    if not pressed:
                        self._closed_from_the_start.discard(number)
                    continue
                if pressed and number < _KEYS:
                    felt.append(PinDown(number))
                felt += self._presses(self._recogniser.edge(time_s, number, pressed))
        return felt + self._presses(self._recogniser.tick(now_s))

    def _presses(self, gestures: Iterable[Felt]) -> list[SetUpEvent]:
        found: list[SetUpEvent] = []
        for one in gestures:
            if not isinstance(one, Gesture):
                continue
            number = one.switches[0]
            match one.kind:
                case "short" | "long" | "held":
                    found.append(Press(one.kind, number if number < _KEYS else None))
                case _:
                    pass
        return found

    def close(self) -> None:
        """Let all go."""
        opened, self._opened = self._opened, []
        for one in opened:
            one.close()
