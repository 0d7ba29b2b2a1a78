"""When a first start begins with the set-up, and whose file `sudo undertoe setup` writes."""

from __future__ import annotations

import errno
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from pedal import wiring
from pedal.errors import DeviceError
from pedal.live.memory_file import MemoryFile
from pedal.live.set_up import devices, starting
from pedal.live.set_up.devices import devices_of
from pedal.live.set_up.first import first_set_up_fits
from pedal.live.set_up.found import found_file
from pedal.ports import PinLibrary
from pedal.settings.load import load
from pedal.setup.choice import PanelPlace
from pedal.setup.machine import Record
from pedal.setup.names import NAMES
from tests.live.doubles import DEADLINE_S, HandedSignals


@pytest.fixture
def new_pedal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file of settings of a pedal that was never played, with a panel that answers and pins."""
    monkeypatch.setattr(wiring, "pin_library", lambda: PinLibrary("lgpio", "a board"))
    monkeypatch.setattr(devices, "panel_places", lambda _: (PanelPlace("i2c", 1),))
    file = tmp_path / "undertoe.yaml"
    file.write_text(f"state: {{folder: {tmp_path}/state}}\n")
    return file


def test_a_new_pedal_begins_with_it(new_pedal: Path) -> None:
    assert first_set_up_fits(new_pedal)


def test_one_that_was_played_does_not(new_pedal: Path, tmp_path: Path) -> None:
    (tmp_path / "state").mkdir()
    (tmp_path / "state/log.sqlite").touch()
    assert not first_set_up_fits(new_pedal)


def test_a_pedal_that_was_played_loads_nothing_of_the_set_up_at_its_start(new_pedal: Path, tmp_path: Path) -> None:
    """Some forty modules of frozen values, at every start, for a step that is taken once."""
    (tmp_path / "state").mkdir()
    (tmp_path / "state/log.sqlite").touch()
    program = (
        "import sys\nfrom pathlib import Path\nfrom pedal.cli import entry\nfrom pedal.live import session\n"
        "from pedal.live.set_up.first import first_set_up_fits\n"
        "print(first_set_up_fits(Path(sys.argv[1])), *sorted(\n"
        "    name for name in sys.modules if name.startswith(('pedal.setup', 'pedal.soundcheck'))))"
    )
    done = subprocess.run([sys.executable, "-c", program, new_pedal], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"


@pytest.mark.parametrize(
    ("kept", "fits"),
    [
        (dict.fromkeys(NAMES, "left"), False),
        ({"panel": "done: x"}, True),
        ({"offered": 2}, True),
        ({"offered": 3}, False),
        ({"offered": "nonsense"}, False),
    ],
)
def test_what_was_kept_decides(new_pedal: Path, kept: dict[str, str | int], fits: bool) -> None:
    found_file(load(new_pedal)).save(dict(kept))
    assert first_set_up_fits(new_pedal) is fits


def test_without_a_panel_or_without_pins_nobody_could_answer(new_pedal: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(devices, "panel_places", lambda _: ())
    assert not first_set_up_fits(new_pedal)

    def none() -> PinLibrary:
        raise DeviceError("no pin library works here: this machine has no pins")

    monkeypatch.setattr(devices, "panel_places", lambda _: (PanelPlace("i2c", 1),))
    monkeypatch.setattr(wiring, "pin_library", none)
    assert not first_set_up_fits(new_pedal)


def test_a_pedal_that_shall_have_no_panel_does_not(new_pedal: Path) -> None:
    new_pedal.write_text(new_pedal.read_text() + "display: {kind: none}\n")
    assert not first_set_up_fits(new_pedal)


def test_a_disk_that_is_full_is_said_and_the_set_up_goes_on(new_pedal: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    def found_a_panel(*_: object, keep: Callable[[Record], None], **__: object) -> str:
        keep({"panel": "done: x"})
        return "over"

    monkeypatch.setattr(MemoryFile, "save", full)
    monkeypatch.setattr(starting, "_run", found_a_panel)
    said: list[str] = []
    ended = starting.set_up_pedal(new_pedal, signals=HandedSignals(), say=said.append, in_terminal=False, first=False)
    assert ended == "over"
    assert said == ["what the set-up found cannot be kept (No space left on device): make room, or set state.folder"]


def test_a_fault_of_ours_goes_to_the_file_and_the_set_up_goes_on(
    new_pedal: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_: object) -> None:
        raise ValueError("ours")

    def no_pins(_: object) -> None:
        raise DeviceError("no pin library works here: this machine has no pins")

    class Signals(HandedSignals):
        """SIGTERM once the fault was told."""

        def wait(self, timeout_s: float) -> int | None:
            time.sleep(0.001)
            assert time.monotonic() < end_s
            return signal.SIGTERM if said else None

    end_s = time.monotonic() + DEADLINE_S
    said: list[str] = []
    new_pedal.write_text(new_pedal.read_text() + "display: {kind: none}\n")
    monkeypatch.setattr(wiring, "choosable", fails)
    monkeypatch.setattr(wiring, "footswitches", no_pins)
    ended = starting.set_up_pedal(
        new_pedal, signals=Signals(), say=said.append, in_terminal=False, first=False, only="input"
    )
    assert ended == "stopped"
    file = tmp_path / "state" / "faults.txt"
    assert said == [f"the part for setting up failed (ValueError: ours) and goes on: {file} says where"]
    assert "in fails" in file.read_text()


@pytest.mark.parametrize(("ceiling", "tone", "cable"), [(-12, -30, -12), (-40, -40, -40), (0, -30, -12)])
def test_nothing_is_played_above_the_ceiling(new_pedal: Path, ceiling: int, tone: int, cable: int) -> None:
    audio = f"audio: {{drone_ceiling_db: {ceiling}, drone_db: {min(-30, ceiling)}}}\n"
    new_pedal.write_text(new_pedal.read_text() + audio)
    made = devices_of(load(new_pedal))
    assert (made.tone_db, made.cable_db) == (tone, cable)
