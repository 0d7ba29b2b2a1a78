"""A machine with devices made of Python, and a set-up that runs on it by a clock that the test holds."""

from __future__ import annotations

import queue
import threading

import numpy as np

from pedal.errors import DeviceError
from pedal.live.set_up.devices import Devices
from pedal.ports import Block, StreamFacts
from pedal.setup.choice import InputDevice, OutputDevice, PanelPlace
from tests.live.doubles import BLOCK, MemoryScreen
from tests.live.true_bend import RATE


class LoopedSource:
    """Plays samples over and over, as fast as they are read."""

    def __init__(self, samples: np.ndarray) -> None:
        self._samples, self._at, self.closed = samples, 0, threading.Event()

    def open(self) -> StreamFacts:
        return StreamFacts("double", RATE, BLOCK, 1)

    def read(self) -> Block | None:
        if self.closed.is_set():
            return None
        piece = self._samples[self._at : self._at + BLOCK]
        self._at = (self._at + BLOCK) % (len(self._samples) - BLOCK)
        return Block(piece)

    def close(self) -> None:
        self.closed.set()


class CountedSink:
    """An output that is pulled once."""

    def __init__(self) -> None:
        self.pulled: np.ndarray | None = None
        self.closed = False

    def open(self, render) -> StreamFacts:
        self.pulled = render(48_000)
        return StreamFacts("double", RATE, BLOCK, 1)

    def close(self) -> None:
        self.closed = True


class PinSwitch:
    """One pin; `world.edges[pin]` presses it."""

    def __init__(self, world: World, pins: tuple[int, ...]) -> None:
        self._world, (self._pin,) = world, pins

    def open(self, edge) -> None:
        if self._world.pin_fault:
            raise DeviceError(self._world.pin_fault)
        self._world.edges[self._pin] = lambda time_s, pressed: edge(time_s, 1, pressed)
        if self._pin in self._world.closed_from_the_start:
            edge(self._world.now_s, 1, True)

    def close(self) -> None:
        self._world.edges.pop(self._pin, None)


class World:
    """Devices, a clock, and a player who acts when the page says so."""

    def __init__(self, string: np.ndarray, quiet: np.ndarray) -> None:
        self.now_s = 1000.0
        self.string, self.quiet = string, quiet
        self.edges: dict[int, object] = {}
        self.closed_from_the_start: set[int] = set()
        self.pin_fault = ""
        self.places = (PanelPlace("i2c", 1, 0x3C),)
        self.inputs = (InputDevice(0, "Built-in: -", 1), InputDevice(1, "USB Audio: -", 2))
        self.outputs = (OutputDevice(1, "USB Audio: -"),)
        self.panels: list[MemoryScreen] = []
        self.sinks: list[CountedSink] = []
        self.be_still = False
        self.signals: queue.SimpleQueue[int] = queue.SimpleQueue()

    def clock(self) -> float:
        return self.now_s

    def wait(self, timeout_s: float) -> int | None:
        """Time passes only here; real threads get a moment to answer."""
        self.now_s += timeout_s
        threading.Event().wait(0.002)
        try:
            return self.signals.get_nowait()
        except queue.Empty:
            return None

    def press(self, pin: int, seconds: float = 0.1) -> None:
        self.edges[pin](self.now_s, True)
        self.now_s += seconds
        self.edges[pin](self.now_s, False)

    def devices(self) -> Devices:
        def panel(_choice):
            self.panels.append(MemoryScreen())
            return self.panels[-1]

        def sink(_output):
            self.sinks.append(CountedSink())
            return self.sinks[-1]

        def record(device, seconds):
            silent = np.zeros(round(seconds * RATE), np.float32)
            string = self.string[: round(seconds * RATE)]
            return RATE, (silent[:, np.newaxis] if device.number == 0 else np.stack([silent, string], axis=1))

        return Devices(
            places=lambda: self.places,
            panel=panel,
            inputs=lambda: self.inputs,
            outputs=lambda: self.outputs,
            record=record,
            source=lambda _choice: LoopedSource(self.quiet if self.be_still else self.string),
            sink=sink,
            cable_sink=sink,
            watch=lambda pins: PinSwitch(self, pins),
            pins=(17, 27, 22),
        )
