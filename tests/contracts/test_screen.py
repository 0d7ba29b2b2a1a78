"""What every screen keeps to: what was shown is seen, dark is dark, closing is safe, faults are DeviceErrors."""

from __future__ import annotations

import errno
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from hw.picture_files import PngScreen
from hw.terminal_screen import TerminalScreen
from pedal.errors import DeviceError
from pedal.ports import Screen
from pedal.screen.drawing import draw
from pedal.screen.samples import samples
from tests.hw.seen_terminal import SeenTerminal
from tests.hw.wired_panels import wire


@dataclass
class Bench:
    """A screen, how it looks from outside, and a way to break it.

    traces : what its ends left outside: files, terminals given back, buses let go.
    traces_broken : how many there are once it was closed after it broke; a terminal that is gone needs nothing back.
    """

    screen: Screen
    seen: Callable[[], Image.Image]
    break_it: Callable[[], None]
    traces: Callable[[], int]
    traces_broken: int


def png_bench(folder: Path) -> Bench:
    screen = PngScreen(folder / "pictures", dot=1)

    def seen() -> Image.Image:
        newest = max((folder / "pictures").glob("*.png"))
        return Image.open(newest).convert("1", dither=Image.Dither.NONE)

    def written() -> int:
        return len(list((folder / "pictures").glob("*")))

    return Bench(screen, seen, lambda: shutil.rmtree(folder / "pictures"), written, 0)


@pytest.fixture(params=["png", "terminal", "ssd1306 i2c", "ssd1309 spi", "sh1106 i2c", "sh1106 spi"])
def bench(request, tmp_path, monkeypatch) -> Iterator[Bench]:
    kind, _, bus = request.param.partition(" ")
    if kind == "png":
        yield png_bench(tmp_path)
    elif kind == "terminal":
        monkeypatch.setenv("TERM", "xterm")
        terminal = SeenTerminal()
        screen = TerminalScreen(terminal.out)

        def given_back() -> int:
            if not terminal.hung_up:
                terminal.read()
            return terminal.heard.count("\x1b[?1049l")

        yield Bench(screen, terminal.image, terminal.hang_up, given_back, 0)
        screen.close()
        terminal.close()
    else:
        panel = wire(monkeypatch, chip=kind, bus=bus)

        def break_it() -> None:
            def gone(_sent: list[int]) -> None:
                raise OSError(errno.EREMOTEIO, "Remote I/O error")

            panel.glass.commands = panel.glass.picture_bytes = gone

        yield Bench(panel.screen, panel.glass.image, break_it, lambda: panel.bus.closed, 1)
        panel.screen.close()


PICTURES = [draw(model) for model in samples().values()]
DARK = Image.new("1", (128, 64))


def same(a: Image.Image, b: Image.Image) -> bool:
    return a.size == b.size and a.tobytes() == b.tobytes()


def test_what_was_shown_is_what_is_seen(bench):
    for picture in PICTURES:
        bench.screen.show(picture)
        assert same(bench.seen(), picture)


def test_the_same_picture_twice_stays(bench):
    bench.screen.show(PICTURES[5])
    bench.screen.show(PICTURES[5])
    assert same(bench.seen(), PICTURES[5])


def test_a_picture_may_be_changed_after_it_was_shown(bench):
    """The loop may draw on: what a screen remembers must be its own."""
    picture = PICTURES[3].copy()
    bench.screen.show(picture)
    picture.paste(255, (0, 0, 128, 64))
    bench.screen.dim(0.0)
    bench.screen.dim(1.0)
    assert same(bench.seen(), PICTURES[3])
    bench.screen.show(picture)
    assert same(bench.seen(), picture)


def test_blank_is_dark_at_once_and_light_brings_the_picture_back(bench):
    bench.screen.show(PICTURES[0])
    bench.screen.dim(0.0)
    assert same(bench.seen(), DARK)
    bench.screen.dim(0.3)
    assert same(bench.seen(), PICTURES[0])
    bench.screen.dim(1.0)
    bench.screen.show(PICTURES[1])
    assert same(bench.seen(), PICTURES[1])


def test_a_picture_that_comes_while_it_is_blank_is_there_when_it_lights_up(bench):
    bench.screen.show(PICTURES[0])
    bench.screen.dim(0.0)
    bench.screen.show(PICTURES[2])
    assert same(bench.seen(), DARK)
    bench.screen.dim(1.0)
    assert same(bench.seen(), PICTURES[2])


def test_dimming_before_the_first_picture_is_no_fault(bench):
    bench.screen.dim(0.5)
    bench.screen.show(PICTURES[0])
    assert same(bench.seen(), PICTURES[0])


def test_it_says_how_late_it_is(bench):
    bench.screen.show(PICTURES[0])
    assert 0.0 <= bench.screen.delay_s < 0.1


def test_closing_twice_is_safe(bench):
    bench.screen.show(PICTURES[0])
    bench.screen.close()
    left = bench.seen()
    bench.screen.close()
    assert bench.traces() == 1
    assert same(bench.seen(), left)


def test_a_broken_screen_is_one_sentence_with_a_remedy(bench):
    bench.screen.show(PICTURES[0])
    bench.break_it()
    with pytest.raises(DeviceError) as told:
        bench.screen.show(PICTURES[1])
    assert told.value.exit_status == 1
    assert "\n" not in str(told.value)
    assert any(part in str(told.value) for part in (": check its", "; give a folder", "; start undertoe again"))


def test_a_broken_screen_can_be_closed(bench):
    bench.screen.show(PICTURES[0])
    bench.break_it()
    bench.screen.close()
    assert bench.traces() == bench.traces_broken
