"""`undertoe setup` as a builder runs it: in a terminal, on a real sound server with two inputs, of which one hears."""

from __future__ import annotations

import contextlib
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pexpect
import pytest
import soundfile
from PIL import Image

from hw.terminal_screen import ENTER, braille_cells, framed
from pedal.modes.menu import NAMES as ROWS
from pedal.modes.screen_model import MenuScreen, Status
from pedal.screen.drawing import draw
from pedal.screen.setup_page import draw_set_up
from pedal.setup.names import NAMES as STEPS
from pedal.setup.panel import REMEDIES
from pedal.setup.step import SetUpPage
from tests.live.true_bend import RATE
from tests.sound_server.pedal_process import until
from tests.sound_server.server import SoundServer

pytestmark = pytest.mark.sound_server
GUITARS = 2
DEADLINE_S = 120
STRINGS_S = 300


@pytest.fixture(scope="module")
def strings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An open A plucked each second for five minutes, eight partials that die away."""
    t = np.arange(RATE) / RATE
    pluck = sum(np.exp(-2 * t * k) * np.sin(2 * np.pi * 110 * k * t) / k for k in range(1, 9))
    file = tmp_path_factory.mktemp("strings") / "open.wav"
    soundfile.write(file, np.tile(0.15 * pluck, STRINGS_S), RATE, subtype="PCM_16")
    return file


def set_up(server: SoundServer, home: Path, *words: str) -> pexpect.spawn:
    environment = {**server.environment, "HOME": str(home), "TERM": "xterm-256color", "LANG": "C.UTF-8"}
    environment.pop("XDG_STATE_HOME", None)
    environment.pop("XDG_CONFIG_HOME", None)
    command = [str(Path(sys.executable).with_name("undertoe")), "setup", *words]
    return pexpect.spawn(
        command[0], command[1:], env=environment, dimensions=(40, 100), timeout=DEADLINE_S, encoding="utf-8"
    )


def shown(home: Path, server: SoundServer) -> str:
    child = set_up(server, home, "--show")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    return child.before


def wait_for_end(child: pexpect.spawn) -> str:
    child.expect(pexpect.EOF)
    child.close()
    return child.before


def found(said: str) -> Callable[[list[str]], bool]:
    """Whether the terminal shows the page that says which input was found."""
    place = STEPS.index("input")
    page = SetUpPage("INPUT", (said,), press="go on", hold="again", place=place, places=len(STEPS))
    return shows(draw_set_up(page))


def shows(picture: Image.Image) -> Callable[[list[str]], bool]:
    wanted = framed(braille_cells(picture))
    return lambda lines: lines == wanted


def until_left(child: pexpect.spawn, home: Path) -> None:
    """Until it is kept that the panel's step was left; what is drawn meanwhile is read, else nothing would go on."""

    def left() -> bool:
        child.expect([pexpect.TIMEOUT], timeout=0.1)
        kept = home / ".local/state/undertoe/set_up.json"
        return kept.exists() and '"panel": "left"' in kept.read_text()

    until(left, what="the step that is left")


def test_the_input_with_the_string_is_taken_and_kept(server: SoundServer, tmp_path: Path, strings: Path) -> None:
    with server.playing(strings, number=2):
        child = set_up(server, tmp_path, "--step", "input")
        # Not before: on the page that says that no string was heard yet the same key begins the listening anew.
        pages = [found(f"guitar2_in, channel 1, {level_db} dBFS") for level_db in range(-60, 1)]
        seen = Seen(child)
        with pytest.raises(pexpect.EOF):
            while True:
                seen.until(lambda lines: any(page(lines) for page in pages))
                seen.press("a", lambda lines: not any(page(lines) for page in pages))
        child.close()
    assert child.exitstatus == 0
    told = shown(tmp_path, server)
    assert "audio.input: 'guitar2_in'" in told
    assert "audio.channel: 1" in told
    assert "input     guitar2_in, channel 1, -" in told


def test_what_was_found_is_what_the_doctor_listens_to(server: SoundServer, tmp_path: Path) -> None:
    (tmp_path / ".local/state/undertoe").mkdir(parents=True)
    kept = '{"given": {"audio.input": "default"}, "memory": {"audio.input": "\'guitar2_in\'", "input": "done: x"}}'
    (tmp_path / ".local/state/undertoe/set_up.json").write_text(kept)
    environment = {**server.environment, "HOME": str(tmp_path)}
    child = pexpect.spawn(
        str(Path(sys.executable).with_name("undertoe")),
        ["doctor"],
        env=environment,
        timeout=DEADLINE_S,
        encoding="utf-8",
    )
    assert "guitar2_in, 48000 Hz, channel 1" in wait_for_end(child)


def test_ctrl_c_keeps_what_was_found(server: SoundServer, tmp_path: Path) -> None:
    child = set_up(server, tmp_path)
    child.expect("a s d f")
    child.send("A")  # leave the step for the panel
    until_left(child, tmp_path)
    child.sendintr()
    told = wait_for_end(child)
    assert child.exitstatus == 130
    assert "panel     left" in told


def test_forget(server: SoundServer, tmp_path: Path) -> None:
    folder = tmp_path / ".local/state/undertoe"
    folder.mkdir(parents=True)
    (folder / "set_up.json").write_text('{"given": {}, "memory": {"panel": "left"}}')
    assert "panel     left" in shown(tmp_path, server)
    child = set_up(server, tmp_path, "--forget")
    wait_for_end(child)
    assert child.exitstatus == 0
    assert "panel     not yet" in shown(tmp_path, server)


def test_without_a_terminal_it_says_so(server: SoundServer, tmp_path: Path) -> None:
    done = subprocess.run(
        [str(Path(sys.executable).with_name("undertoe")), "setup"], env={**server.environment, "HOME": str(tmp_path)},
        capture_output=True, text=True, timeout=DEADLINE_S, stdin=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.startswith("undertoe: the picture needs a text terminal")


def test_a_power_cut_costs_the_step_that_was_begun(server: SoundServer, tmp_path: Path) -> None:
    """Killed at once, as a cut does: what was left before it is kept."""
    child = set_up(server, tmp_path)
    child.expect("a s d f")
    child.send("A")  # leave the panel's step; the switches' has begun
    until_left(child, tmp_path)
    child.expect([pexpect.TIMEOUT], timeout=2)
    child.kill(9)
    child.wait()
    told = shown(tmp_path, server)
    assert "panel     left" in told
    assert "switches  not yet" in told


class Seen:
    """The lines of a terminal that a pedal draws on, as they stand."""

    LINE = re.compile(r"\x1b\[(\d+);1H(.*?)\x1b\[K")

    def __init__(self, child: pexpect.spawn) -> None:
        self._child, self._raw = child, ""

    def picture(self) -> list[str]:
        with contextlib.suppress(pexpect.TIMEOUT):
            self._raw += self._child.read_nonblocking(65_536, timeout=0.1)
        # What was drawn before the program took the terminal last is gone.
        lines = dict(self.LINE.findall(self._raw.rpartition(ENTER)[2]))
        return [lines.get(str(number), "") for number in range(1, 19)]

    def until(self, wanted: Callable[[list[str]], bool]) -> None:
        until(lambda: wanted(self.picture()), what="the picture")

    def press(self, key: str, wanted: Callable[[list[str]], bool]) -> None:
        """A key; then until the picture that answers it stands. A change alone may be the rest of the one before."""
        self._child.send(key)
        self.until(wanted)


def test_from_the_menu_of_a_pedal_that_plays_and_back(server: SoundServer, tmp_path: Path) -> None:
    """Both switches: the menu; its last row but one: the set-up; a step is left, the list is left, and it plays on."""
    environment = {**server.environment, "HOME": str(tmp_path), "TERM": "xterm-256color", "LANG": "C.UTF-8"}
    child = pexpect.spawn(
        str(Path(sys.executable).with_name("undertoe")), ["live", "--input", "guitar_in", "--display", "terminal"],
        env=environment, dimensions=(40, 100), timeout=DEADLINE_S, encoding="utf-8",
    )  # fmt: skip
    seen = Seen(child)
    status = Status("menu", "G minor pentatonic")

    def menu(name: str, value: str) -> Callable[[list[str]], bool]:
        return shows(draw(MenuScreen(status, ROWS, ROWS.index(name), value, editing=False)))

    def row(name: str) -> Callable[[list[str]], bool]:
        """By the mark at the foot, which is drawn last, whatever the row's value is."""
        picture = draw(MenuScreen(status, ROWS, ROWS.index(name), "", editing=False))
        foot = framed(braille_cells(picture))[-2:]
        return lambda lines: lines[-2:] == foot

    def page(title: str, place: int, **words: object) -> Callable[[list[str]], bool]:
        return shows(draw_set_up(SetUpPage(title, place=place, **words)))

    seen.until(lambda lines: any("⣿" in line for line in lines))
    seen.press("b", menu("key", "G"))
    for name in ROWS[1 : ROWS.index("set-up")]:
        seen.press("a", row(name))
    seen.press("a", menu("set-up", "begin"))
    listed = {"places": len(STEPS) + 1, "press": "next"}
    seen.press("s", page("PANEL", 0, lines=("not yet",), hold="begin", **listed))
    seen.press("A", page("NO PANEL", 0, lines=REMEDIES, press="again", hold="leave", places=len(STEPS)))
    seen.press("A", page("PANEL", 0, lines=("left",), hold="begin", **listed))
    assert '"panel": "left"' in (tmp_path / ".local/state/undertoe/set_up.json").read_text()
    for place, name in enumerate(STEPS[1:], 1):
        seen.press("a", page(name.upper(), place, lines=("not yet",), hold="begin", **listed))
    seen.press("a", page("LEAVE", len(STEPS), lines=("the set-up",), hold="leave", **listed))
    # Not the page that is left: it holds full cells as well, and the set-up would still take the key.
    left = page("LEAVE", len(STEPS), lines=("the set-up",), hold="leave", **listed)
    seen.press("A", lambda lines: not left(lines) and any("⣿" in line for line in lines))
    seen.press("b", menu("key", "G"))
    child.sendintr()
    assert "undertoe: no note was heard" in wait_for_end(child)
    assert child.exitstatus == 130
