"""The drawing part by itself, in a time of the test's own: lamps that fail, panels that must be dimmed and renewed."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from pedal import wiring
from pedal.errors import DeviceError
from pedal.live.display import PanelDisplay
from pedal.live.messages import Frame
from pedal.live.printer import Printer
from pedal.live.remarks import Remarks
from pedal.live.session import LiveSession, Wanted
from pedal.live.worker import Mailbox
from pedal.modes.screen_model import MessageScreen
from pedal.settings.load import load
from tests.live.doubles import MemoryScreen

A_PICTURE = Image.new("1", (128, 64))


class Lamp:
    """Shines until it fails."""

    def __init__(self, *, fails: bool) -> None:
        self.fails, self.shone, self.closed = fails, 0, False

    def shine(self, level: float) -> None:
        self.shone += 1
        if self.fails:
            raise DeviceError("the lamp on GPIO 18 has failed ('bad GPIO write'): look at its wires")

    def close(self) -> None:
        self.closed = True


class Frames(Mailbox[Frame]):
    """Gives the frame each time, moves the time on, and ends the drawing when it is late enough."""

    def __init__(self, frames: Callable[[float], Frame | None], *, until_s: float, step_s: float = 0.1) -> None:
        super().__init__()
        self.now_s, self.stop = 0.0, threading.Event()
        self._frames, self._until_s, self._step_s = frames, until_s, step_s

    def take(self, timeout_s: float) -> Frame | None:
        frame = self._frames(self.now_s)
        self.now_s += self._step_s
        if self.now_s >= self._until_s:
            self.stop.set()
        return frame


def a_frame(*, awake: bool = True) -> Frame:
    return Frame(MessageScreen("NO INPUT", ("plug it in",)), awake, "", "glance")


def draw(frames: Frames, screen: MemoryScreen, **options: object) -> PanelDisplay:
    panel_display = PanelDisplay(
        frames, make_screen=lambda: screen, draw=lambda *_: A_PICTURE, clock=lambda: frames.now_s, **options
    )
    panel_display.work(frames.stop)
    return panel_display


@pytest.mark.parametrize("fails", [True, False])
def test_a_lamp_that_fails_stays_out_and_the_panel_goes_on(fails: bool) -> None:
    lamp, screen = Lamp(fails=fails), MemoryScreen()
    panel_display = draw(Frames(lambda _: a_frame(), until_s=2.0), screen, lamp=lamp)
    assert panel_display.shown == 1
    told = "the lamp on GPIO 18 has failed ('bad GPIO write'): look at its wires"
    assert panel_display.lamp_fault == (told if fails else "")
    assert (lamp.shone > 1) is not fails
    assert lamp.closed is not fails  # one that failed has let go by itself


def test_a_lamp_without_a_panel_shines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fault: the settings allow it and the doctor looks at its pin, but it was never lit."""
    lamp, asked = Lamp(fails=False), []
    monkeypatch.setattr(wiring, "lamp", lambda pin: asked.append(pin) or lamp)
    file = tmp_path / "pedal.yaml"
    file.write_text(f"display: {{kind: none}}\nlamp: {{pin: 22}}\nstate: {{folder: {tmp_path}}}\n")
    session = LiveSession(Wanted(config=file), Printer(None), Remarks(held=True))
    panel = session._panel(load(file))
    assert asked == [22]
    assert panel is not None and panel.lamp is lamp
    frames = Frames(lambda _: a_frame(), until_s=2.0)
    PanelDisplay(
        frames, make_screen=panel.make_screen, draw=lambda *_: A_PICTURE, lamp=panel.lamp, clock=lambda: frames.now_s
    ).work(frames.stop)
    assert lamp.shone > 1 and lamp.closed


def test_without_a_panel_and_a_lamp_nothing_is_drawn(tmp_path: Path) -> None:
    file = tmp_path / "pedal.yaml"
    file.write_text(f"display: {{kind: none}}\nstate: {{folder: {tmp_path}}}\n")
    session = LiveSession(Wanted(config=file), Printer(None), Remarks(held=True))
    assert session._panel(load(file)) is None


def test_a_panel_is_shown_again_what_it_shows_and_nothing_is_counted_for_it() -> None:
    screen = MemoryScreen()
    panel_display = draw(Frames(lambda _: a_frame(), until_s=35.0), screen, again_s=10.0)
    assert (len(screen.pictures), panel_display.shown) == (4, 1)
    screen = MemoryScreen()
    draw(Frames(lambda _: a_frame(), until_s=35.0), screen)
    assert len(screen.pictures) == 1
