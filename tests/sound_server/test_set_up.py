"""`undertoe setup` as a builder runs it: in a terminal, on a real sound server with two inputs, of which one hears."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pexpect
import pytest
import soundfile

from tests.live.true_bend import RATE
from tests.sound_server.server import SoundServer

pytestmark = pytest.mark.sound_server
GUITARS = 2
DEADLINE_S = 60


@pytest.fixture(scope="module")
def strings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An open A plucked each second for a minute and a half, eight partials that die away."""
    t = np.arange(RATE) / RATE
    pluck = sum(np.exp(-2 * t * k) * np.sin(2 * np.pi * 110 * k * t) / k for k in range(1, 9))
    file = tmp_path_factory.mktemp("strings") / "open.wav"
    soundfile.write(file, np.tile(0.15 * pluck, 90), RATE, subtype="PCM_16")
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


def test_the_input_with_the_string_is_taken_and_kept(server: SoundServer, tmp_path: Path, strings: Path) -> None:
    with server.playing(strings, number=2):
        child = set_up(server, tmp_path, "--step", "input")
        # Pages are dots; what was found is read from the file after the key that takes it.
        for _ in range(40):
            child.send("a")
            if child.expect([pexpect.EOF, pexpect.TIMEOUT], timeout=1) == 0:
                break
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
    child.expect([pexpect.TIMEOUT], timeout=3)
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
    import subprocess

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
    for _ in range(60):
        child.expect([pexpect.TIMEOUT], timeout=0.5)
        if (tmp_path / ".local/state/undertoe/set_up.json").exists():
            break
    child.expect([pexpect.TIMEOUT], timeout=2)
    child.kill(9)
    child.wait()
    told = shown(tmp_path, server)
    assert "panel     left" in told
    assert "switches  not yet" in told


def test_from_the_menu_of_a_pedal_that_plays_and_back(server: SoundServer, tmp_path: Path) -> None:
    """Both switches: the menu; its last row but one: the set-up; a step is left, the list is left, and it plays on."""
    from pedal.modes.menu import NAMES as ROWS
    from pedal.setup.machine import NAMES as STEPS

    environment = {**server.environment, "HOME": str(tmp_path), "TERM": "xterm-256color", "LANG": "C.UTF-8"}
    child = pexpect.spawn(
        str(Path(sys.executable).with_name("undertoe")), ["live", "--input", "guitar_in", "--display", "terminal"],
        env=environment, dimensions=(40, 100), timeout=DEADLINE_S, encoding="utf-8",
    )  # fmt: skip

    def keys(letters: str, pause_s: float) -> None:
        for letter in letters:
            child.send(letter)
            child.expect([pexpect.TIMEOUT, pexpect.EOF], timeout=pause_s)
            assert child.isalive(), child.before

    child.expect("a s d f")
    keys("b", 2.0)
    keys("a" * ROWS.index("set-up"), 0.4)
    keys("s", 3.0)
    keys("A", 2.5)  # begin the first step
    keys("A", 2.5)  # leave it
    assert '"panel": "left"' in (tmp_path / ".local/state/undertoe/set_up.json").read_text()
    keys("a" * len(STEPS), 0.5)
    keys("A", 4.0)  # leave the list
    child.sendintr()
    told = wait_for_end(child)
    assert child.exitstatus == 130
    assert "undertoe: 0 notes" in told or "note" in told
