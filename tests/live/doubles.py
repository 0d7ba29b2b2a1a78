"""Ports that do as they are told, and a loop made of them that runs in the test's own thread."""

from __future__ import annotations

import queue
import signal
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from pedal.errors import DeviceError, StoreError
from pedal.ports import Block, StreamFacts
from tests.live.true_bend import RATE, a_true_bend

if TYPE_CHECKING:
    from pedal.modes.log_entry import LogEntry

BLOCK = 128
DEADLINE_S = 60.0
"""Generous: it only says that something will never come."""


def blocks_of(samples: np.ndarray) -> list[Block]:
    return [Block(samples[at : at + BLOCK]) for at in range(0, len(samples), BLOCK)]


class ScriptedSource:
    """Gives its steps in turn: a block, or a fault that is raised. After the last it waits until it is closed."""

    def __init__(
        self, steps: list[Block | Exception], *, rate: int = RATE, ends: bool = False, at_open: Exception | None = None
    ) -> None:
        self._steps, self._rate, self._ends, self._at_open = list(steps), rate, ends, at_open
        self.closed = threading.Event()

    def open(self) -> StreamFacts:
        if self._at_open is not None:
            raise self._at_open
        return StreamFacts("double", self._rate, BLOCK, 1)

    def read(self) -> Block | None:
        if self._steps:
            step = self._steps.pop(0)
            if isinstance(step, Exception):
                raise step
            return step
        if self._ends:
            return None
        self.closed.wait(0.005)  # silence at a device: blocks go on coming
        return Block(np.zeros(BLOCK, np.float32))

    def close(self) -> None:
        self.closed.set()


class HandedSignals:
    """Signals that the test sends by hand."""

    def __init__(self) -> None:
        self._sent: queue.Queue[int] = queue.Queue()

    def send(self, signal_number: signal.Signals) -> None:
        self._sent.put(signal_number)

    def wait(self, timeout_s: float) -> int | None:
        try:
            return self._sent.get(timeout=min(timeout_s, 0.02))
        except queue.Empty:
            return None


class MemoryScreen:
    """Keeps the pictures; fails as often as it is told to, first when made, then when shown to."""

    delay_s = 0.0

    def __init__(self) -> None:
        self.pictures: list[Image.Image] = []
        self.brightness: list[float] = []
        self.closed = False

    def show(self, bitmap: Image.Image) -> None:
        self.pictures.append(bitmap)

    def dim(self, share: float) -> None:
        self.brightness.append(share)

    def close(self) -> None:
        self.closed = True


class DeadScreen(MemoryScreen):
    """Answers no picture, and not even the last word."""

    def show(self, bitmap: Image.Image) -> None:
        raise DeviceError("the panel does not answer: check its wires")

    def close(self) -> None:
        self.closed = True
        raise DeviceError("the panel does not answer: check its wires")


class ListStore:
    """Keeps entries in a list; refuses while `broken`."""

    remark = ""

    def __init__(self) -> None:
        self.entries: list[LogEntry] = []
        self.broken = False
        self.closed = False

    def append(self, entries: list[LogEntry]) -> None:
        if self.broken:
            raise StoreError("the disk is full: make room")
        self.entries += entries

    def close(self) -> None:
        self.closed = True


class HandSwitches:
    """Feet of the test: `press(switch)` is an edge now."""

    def __init__(self, fault: DeviceError | None = None) -> None:
        self._fault = fault
        self.edge: Callable[[float, int, bool], None] = lambda *_: None
        self.closed = False

    def open(self, edge: Callable[[float, int, bool], None]) -> None:
        if self._fault is not None:
            raise self._fault
        self.edge = edge

    def close(self) -> None:
        self.closed = True


def a_bend_in_blocks() -> list[Block]:
    return blocks_of(a_true_bend())
