"""The panel in a terminal: what is sent, what fits, what is refused, and that the terminal comes back."""

from __future__ import annotations

import io
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

from hw.terminal_screen import ENTER, LEAVE, TerminalScreen, braille_cells, plain_cells
from pedal.errors import DeviceError
from pedal.screen.drawing import draw
from pedal.screen.samples import samples
from tests.hw.seen_terminal import SeenTerminal

PICTURE = draw(samples()["watch true"])


@pytest.fixture
def terminal(monkeypatch):
    monkeypatch.setenv("TERM", "xterm")
    made = SeenTerminal()
    yield made
    made.close()


def test_a_whole_panel_with_two_captions_fits_80_by_24(terminal):
    screen = TerminalScreen(terminal.out, captions=("first", "second"))
    screen.show(PICTURE)
    lines = terminal.lines()
    assert lines[0] == "┌" + "─" * 64 + "┐"
    assert lines[17] == "└" + "─" * 64 + "┘"
    assert lines[18:20] == ["first", "second"]
    assert max(map(len, lines)) <= 80
    screen.close()


def test_plain_characters_fit_as_well(terminal):
    screen = TerminalScreen(terminal.out, captions=("first", "second"), plain=True)
    screen.show(PICTURE)
    lines = terminal.lines()
    assert lines[22:24] == ["first", "second"]
    assert "".join(lines).isascii()
    screen.close()


def test_the_terminal_is_taken_and_given_back(terminal):
    screen = TerminalScreen(terminal.out)
    terminal.read()
    assert terminal.other_page
    assert not terminal.cursor_shown
    screen.show(PICTURE)
    screen.close()
    terminal.read()
    assert not terminal.other_page
    assert terminal.cursor_shown
    assert terminal.heard.startswith(ENTER)
    assert terminal.heard.endswith(LEAVE)


def test_no_colour_is_sent(terminal):
    screen = TerminalScreen(terminal.out)
    screen.show(PICTURE)
    screen.close()
    terminal.read()
    assert "m" not in terminal.heard.replace(ENTER, "").replace(LEAVE, "")


def test_only_changed_lines_are_sent(terminal):
    screen = TerminalScreen(terminal.out)
    screen.show(PICTURE)
    terminal.read()
    before = len(terminal.heard)
    screen.show(PICTURE)
    terminal.read()
    assert len(terminal.heard) == before
    changed = PICTURE.copy()
    changed.putpixel((0, 63), 255 - changed.getpixel((0, 63)))
    screen.show(changed)
    terminal.read()
    assert terminal.heard[before:].count("\x1b[K") == 1
    screen.close()


def test_a_small_window_says_what_it_needs_and_a_larger_one_gets_the_picture(terminal):
    screen = TerminalScreen(terminal.out, captions=("keys",))
    terminal.resize(60, 24)
    screen.show(PICTURE)
    assert terminal.lines()[0] == "Window 60 x 24: make it 66 x 19 or more."
    terminal.resize(80, 24)
    screen.show(PICTURE)
    assert terminal.image().tobytes() == PICTURE.tobytes()
    screen.close()


def test_an_output_that_is_no_terminal_is_refused():
    with pytest.raises(DeviceError, match="needs a text terminal.* add --headless or --png") as told:
        TerminalScreen(io.StringIO())
    assert told.value.exit_status == 1


@pytest.mark.parametrize("kind", ["dumb", None])
def test_a_terminal_that_cannot_move_its_cursor_is_refused(terminal, monkeypatch, kind):
    if kind is None:
        monkeypatch.delenv("TERM")
    else:
        monkeypatch.setenv("TERM", kind)
    with pytest.raises(DeviceError, match="needs a text terminal"):
        TerminalScreen(terminal.out)


@pytest.mark.parametrize(("encoding", "plain"), [("utf-8", False), ("latin-1", True), ("ascii", True)])
def test_the_encoding_decides_about_braille(terminal, encoding, plain):
    terminal.out.reconfigure(encoding=encoding)
    screen = TerminalScreen(terminal.out)
    screen.show(PICTURE)
    screen.close()
    terminal.read()
    assert terminal.heard.isascii() == plain


@pytest.mark.parametrize(
    ("dot", "pattern"),
    [
        ((0, 0), "⠁"),
        ((0, 1), "⠂"),
        ((0, 2), "⠄"),
        ((1, 0), "⠈"),
        ((1, 1), "⠐"),
        ((1, 2), "⠠"),
        ((0, 3), "⡀"),
        ((1, 3), "⢀"),
    ],
)
def test_each_dot_is_its_own_braille_dot(dot, pattern):
    """Patterns typed from The Unicode Standard's chart, U+2800: dots 1 to 8."""
    picture = Image.new("1", (128, 64))
    picture.putpixel(dot, 255)
    cells = braille_cells(picture)
    assert cells[0] == pattern + " " * 63
    assert set("".join(cells[1:])) == {" "}


def test_plain_cells_tell_the_thirds_apart():
    picture = Image.new("1", (128, 64))
    for column, rows in enumerate([(), (0,), (1,), (2,), (0, 1), (0, 2), (1, 2), (0, 1, 2)]):
        for row in rows:
            picture.putpixel((2 * column, row), 255)
    cells = plain_cells(picture)
    assert len(cells) == 22
    assert len(set(cells[0][:8])) == 8
    assert cells[0][:4] == " '-."


def test_noise_survives_braille(rng, terminal):
    screen = TerminalScreen(terminal.out)
    for _ in range(20):
        picture = Image.frombytes("1", (128, 64), rng.bytes(1024))
        screen.show(picture)
        assert terminal.image().tobytes() == picture.tobytes()
    screen.close()


def test_the_low_panel_is_half_as_high(terminal):
    picture = draw(samples()["ladder waiting"], height=32)
    screen = TerminalScreen(terminal.out)
    screen.show(picture)
    assert terminal.image(32).tobytes() == picture.tobytes()
    screen.close()


CRASH = """
import sys
from PIL import Image
from hw.terminal_screen import TerminalScreen
screen = TerminalScreen()
screen.show(Image.new("1", (128, 64), 255))
raise SystemError("a fault of ours")
"""


def test_a_crash_gives_the_terminal_back(terminal):
    """Nobody called close: the interpreter's own end must."""
    done = subprocess.run(
        [sys.executable, "-c", CRASH], stdout=terminal.out.fileno(), stderr=subprocess.PIPE, check=False, timeout=60
    )
    assert done.returncode == 1
    assert b"a fault of ours" in done.stderr
    terminal.read()
    assert terminal.heard.endswith(LEAVE)


def test_drawing_is_quick_enough_for_a_small_board(terminal):
    """A line budget, not a clock: one whole picture is under 5 kB, so 30 a second pass over a slow shell connection."""
    screen = TerminalScreen(terminal.out)
    terminal.read()
    before = len(terminal.heard.encode())
    screen.show(Image.fromarray(np.full((64, 128), 255, np.uint8)).convert("1"))
    terminal.read()
    assert len(terminal.heard.encode()) - before < 5000
    screen.close()
