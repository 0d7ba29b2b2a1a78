"""How soon and how often the picture changes, in the real loop: sound at its own pace, a bus at its own speed."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from statistics import median

import numpy as np
import pytest
from PIL import Image

from hw.luma_screen import LumaScreen
from pedal.live.assembly import Controls, Panel, assemble
from pedal.live.capture import Capture
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop, Parts
from pedal.live.printer import Printer
from pedal.modes.pedal import Pedal, PedalState
from pedal.ports import Block, Screen, StreamFacts
from pedal.settings.load import load
from tests.hw.bus_decoder import wire_s
from tests.hw.wired_panels import wire_i2c, wire_spi
from tests.live.doubles import BLOCK, DEADLINE_S, HandedSignals, HandSwitches, MemoryScreen

pytestmark = pytest.mark.soak
"""Of the clock: on a machine that does other work beside this they say nothing of the pedal."""
RATE = 48_000
SETTINGS = load(None, environment={"HOME": "/nowhere"})
SECONDS = 3.0
I2C_HZ, SPI_HZ = 400_000, 8_000_000


class PacedSource:
    """Blocks of a sound when their time has come, over and over."""

    def __init__(self, samples: np.ndarray) -> None:
        self._samples, self._given, self._begun_s = samples, 0, 0.0

    def open(self) -> StreamFacts:
        self._begun_s = time.monotonic()
        return StreamFacts("double", RATE, BLOCK, 1)

    def read(self) -> Block | None:
        at = self._given % len(self._samples)
        self._given += BLOCK
        time.sleep(max(0.0, self._begun_s + self._given / RATE - time.monotonic()))
        return Block(self._samples[at : at + BLOCK])

    def close(self) -> None:
        pass


class TimedScreen(MemoryScreen):
    def __init__(self) -> None:
        super().__init__()
        self.shown_s: list[float] = []
        self.news = threading.Event()

    def show(self, bitmap: Image.Image) -> None:
        super().show(bitmap)
        self.shown_s.append(time.monotonic())
        self.news.set()


def a_string_that_never_rests() -> np.ndarray:
    """Six partials whose pitch swings a whole tone up and down, one and a half times a second."""
    time_s = np.arange(8 * RATE // BLOCK * BLOCK) / RATE
    cents = 100 - 100 * np.cos(2 * np.pi * 1.5 * time_s)
    phase = 2 * np.pi * np.cumsum(261.63 * 2 ** (cents / 1200)) / RATE
    partials = [np.sin(number * phase) / number for number in range(1, 7)]
    return (0.1 * np.sum(partials, axis=0)).astype(np.float32)


@pytest.fixture
def started() -> Iterator[Callable[..., Parts]]:
    ends: list[Callable[[], None]] = []

    def start(samples: np.ndarray, make_screen: Callable[[], Screen], controls: Controls | None = None) -> Parts:
        signals = HandedSignals()
        parts = assemble(
            Pedal(PedalState(mode="ladder")), Capture(lambda: PacedSource(samples)), log_writer=LogWriter(None, None),
            printer=Printer(None), panel=Panel(make_screen, SETTINGS.display), controls=controls,
        )  # fmt: skip
        thread = threading.Thread(target=Loop(parts, signals=signals).run)
        thread.start()

        def end() -> None:
            signals.send(signal.SIGTERM)
            thread.join(DEADLINE_S)

        ends.append(end)
        return parts

    yield start
    for end in ends:
        end()


@pytest.mark.parametrize(("bus", "least_a_second"), [("spi", 60), ("i2c", 30)])
def test_frames_a_second_at_the_speed_of_the_bus(
    started: Callable[..., Parts], monkeypatch: pytest.MonkeyPatch, bus: str, least_a_second: int
) -> None:
    wiring, glass, end = (wire_i2c if bus == "i2c" else wire_spi)(monkeypatch, "ssd1306")
    hz = I2C_HZ if bus == "i2c" else SPI_HZ
    name = "transfer" if bus == "i2c" else "writebytes"
    send = getattr(end, name)

    def slowly(*words: object) -> None:
        send(*words)
        time.sleep(wire_s([glass.sizes[-1]], bus=bus, hz=hz))

    monkeypatch.setattr(end, name, slowly)
    parts = started(a_string_that_never_rests(), lambda: LumaScreen(wiring, chip="ssd1306"))
    panel_display = parts.panel_display
    assert panel_display is not None
    threading.Event().wait(1.0)
    before, cpu_s, begun_s = panel_display.shown, time.process_time(), time.monotonic()
    threading.Event().wait(SECONDS)
    took_s = time.monotonic() - begun_s
    rate = (panel_display.shown - before) / took_s
    share = (time.process_time() - cpu_s) / took_s
    print(
        f"{bus}: {rate:.1f} frames a second, delay {panel_display.delay_s * 1e3:.1f} ms, {share:.0%} of a core in all"
    )
    assert rate > 0.5 * least_a_second  # half: a machine that runs other tests beside this one is late


@pytest.mark.parametrize(("double", "goal_s"), [(False, 0.05), (True, 0.35)])
def test_a_short_press_changes_the_picture_soon(started: Callable[..., Parts], double: bool, goal_s: float) -> None:
    """From the release, which is what makes a press short; where a double is looked for it waits for a second press."""
    feet, screen = HandSwitches(), TimedScreen()
    words = SETTINGS.switches
    if double:
        words = replace(words, actions=(("1_double", "menu"),))
    started(np.zeros(RATE // BLOCK * BLOCK, np.float32), lambda: screen, Controls(feet, 2, words))
    assert screen.news.wait(DEADLINE_S)
    threading.Event().wait(0.5)
    took_s = []
    for _ in range(12):
        feet.edge(time.monotonic(), 1, True)
        threading.Event().wait(0.1)
        screen.news.clear()
        released_s = time.monotonic()
        feet.edge(released_s, 1, False)
        assert screen.news.wait(DEADLINE_S)
        took_s.append(screen.shown_s[-1] - released_s)
        threading.Event().wait(0.1)
    print(f"double {double}: median {median(took_s) * 1e3:.0f} ms, most {max(took_s) * 1e3:.0f} ms after the release")
    assert median(took_s) < 2 * goal_s
