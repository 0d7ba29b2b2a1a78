"""The picture and the keys in a real terminal emulator: tmux draws, we read its screen."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from hw.keyboard_switches import LEGEND
from hw.terminal_screen import braille_cells, framed, plain_cells
from pedal.screen.drawing import draw
from pedal.screen.samples import samples
from tests.conftest import REPOSITORY

PROGRAM = """
import signal, threading
from hw.keyboard_switches import LEGEND, KeyboardSwitches
from hw.terminal_screen import TerminalScreen
from pedal.screen.drawing import draw
from pedal.screen.samples import samples
pictures = {name: draw(model) for name, model in samples().items()}
stop = threading.Event()
signal.signal(signal.SIGINT, lambda *_: stop.set())
screen, switches = TerminalScreen(captions=LEGEND), KeyboardSwitches()
screen.show(pictures["watch rising"])
switches.open(lambda time_s, switch, pressed: screen.show(pictures["watch true" if switch == 2 else "watch flat"]))
stop.wait()
switches.close()
screen.close()
"""
DEADLINE_S = 120.0


class Pane:
    """One tmux server of our own with one window of 80 x 24."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        self.socket = str(folder / "tmux")
        self.environment = environment
        shell = f"echo before; stty -echo; {sys.executable} {folder / 'program.py'}; echo after; cat"
        self.tmux("-f", os.devnull, "new-session", "-d", "-x", "80", "-y", "24", shell)

    def tmux(self, *words: str) -> str:
        done = subprocess.run(
            ["tmux", "-S", self.socket, *words],
            capture_output=True, text=True, check=True, timeout=DEADLINE_S, env=self.environment, cwd=REPOSITORY,
        )  # fmt: skip
        return done.stdout

    def lines(self) -> list[str]:
        return [line.rstrip() for line in self.tmux("capture-pane", "-p").split("\n")]

    def begins_with(self, wanted: list[str]) -> bool:
        """Whether the window comes to begin with these lines."""
        deadline_s = time.monotonic() + DEADLINE_S
        wanted = [line.rstrip() for line in wanted]
        while (seen := self.lines())[: len(wanted)] != wanted:
            if time.monotonic() >= deadline_s:
                print("\n".join(seen))
                return False
        return True


@pytest.fixture(params=["C.UTF-8", "POSIX"])
def pane(request, tmp_path):
    if shutil.which("tmux") is None:
        pytest.fail("tmux is missing: make test installs it")
    (tmp_path / "program.py").write_text(PROGRAM)
    utf8 = request.param == "C.UTF-8"
    environment = {
        **os.environ, "LC_ALL": request.param, "PYTHONPATH": str(REPOSITORY), "PYTHONUTF8": "1" if utf8 else "0",
        "PYTHONIOENCODING": "utf-8" if utf8 else "ascii", "TERM": "xterm",
    }  # fmt: skip
    environment.pop("TMUX", None)
    made = Pane(tmp_path, environment)
    made.cells = (lambda picture: framed(braille_cells(picture))) if utf8 else plain_cells
    yield made
    made.tmux("kill-server")


def test_picture_keys_and_leaving(pane):
    """With braille where the encoding has it, with plain characters where not."""
    pictures = {name: draw(model) for name, model in samples().items()}
    assert pane.begins_with([*pane.cells(pictures["watch rising"]), *LEGEND])
    assert any("tap a switch" in line for line in pane.lines())
    pane.tmux("send-keys", "s")
    assert pane.begins_with(pane.cells(pictures["watch true"]))
    pane.tmux("send-keys", "a")
    assert pane.begins_with(pane.cells(pictures["watch flat"]))
    pane.tmux("send-keys", "C-c")
    assert pane.begins_with(["before", "after"])
