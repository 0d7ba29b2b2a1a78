"""A slip in the settings of a pedal that waits: on the panel and in the journal, and gone when the file is good."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pedal import wiring
from pedal.cli.entry import main
from pedal.errors import DeviceError, SettingsError
from pedal.live import broken_settings
from pedal.live.broken_settings import until_mended
from pedal.live.set_up.found import found_file
from pedal.modes.screen_model import MessageScreen
from pedal.screen.drawing import draw
from pedal.settings import card
from pedal.settings.load import load, loads
from pedal.settings.parts import Display
from tests.live.doubles import MemoryScreen

SLIP = "display: {density: close}\ncapo: high\n"


class Told:
    """Signals that come after so many waits; `each` is called at every wait."""

    def __init__(self, *signals: signal.Signals | None, each: Callable[[int], None] = lambda _: None) -> None:
        self.signals, self.each, self.waits = list(signals), each, 0

    def wait(self, timeout_s: float) -> int | None:
        assert timeout_s <= 2.0
        self.waits += 1
        self.each(self.waits)
        return self.signals.pop(0) if self.signals else signal.SIGTERM


def wait_in(file: Path, told: Told, make_screen: Any) -> tuple[str, list[str]]:
    said: list[str] = []
    with pytest.raises(SettingsError) as caught:
        load(file)
    now_s, display = iter(range(10_000)), wiring.settings_in_spite(file).display
    outcome = until_mended(
        file, caught.value, signals=told, say=said.append, display=display, make_screen=make_screen,
        clock=lambda: float(next(now_s)),
    )  # fmt: skip
    return outcome, said


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "pedal.yaml"
    path.write_text(SLIP)
    return path


def test_the_fault_is_on_the_panel_as_it_is_wired_and_in_the_journal(file: Path) -> None:
    screen, displays = MemoryScreen(), []

    def make(display: Any) -> MemoryScreen:
        displays.append(display)
        return screen

    outcome, said = wait_in(file, Told(None, None), make)
    assert outcome == "stopped"
    assert said[0].startswith(f"{file}:2: capo: expected a whole number")
    assert displays[0].density == "close"
    sentence = said[0].removeprefix(f"{file}:2: ")
    wanted = draw(MessageScreen("SETTINGS", (f"line 2: {sentence}",)), density="close", height=64)
    assert np.array_equal(np.asarray(screen.pictures[-1]), np.asarray(wanted))
    assert np.asarray(wanted).any()
    assert screen.closed


def test_a_file_that_was_changed_is_tried_again(file: Path) -> None:
    def mend(waits: int) -> None:
        if waits == 3:
            file.write_text("capo: 2\n# corrected\n")

    assert wait_in(file, Told(*[None] * 9, each=mend), None)[0] == "again"


@pytest.mark.parametrize(
    ("sent", "outcome"),
    [(signal.SIGHUP, "again"), (signal.SIGTERM, "stopped"), (signal.SIGINT, "interrupted")],
)
def test_signals_are_obeyed(file: Path, sent: signal.Signals, outcome: str) -> None:
    assert wait_in(file, Told(None, sent), None)[0] == outcome


def test_a_panel_that_is_not_there_yet_is_tried_until_it_is(file: Path) -> None:
    screen, tries = MemoryScreen(), []

    def make(_: Any) -> MemoryScreen:
        tries.append(1)
        if len(tries) < 3:
            raise DeviceError("the panel does not answer: check its wires")
        return screen

    wait_in(file, Told(*[None] * 5), make)
    assert len(tries) == 3
    assert screen.pictures


def test_a_file_broken_in_its_display_shows_on_the_default_panel(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("display: {kind: banjo, i2c_address: 0x3D}\n")
    display = wiring.settings_in_spite(tmp_path / "bad.yaml").display
    default = load(None, environment={"HOME": "/nowhere"}).display
    assert (display.kind, display.i2c_address) == (default.kind, 0x3D)
    (tmp_path / "bad.yaml").write_text("a: [")
    assert wiring.settings_in_spite(tmp_path / "bad.yaml").display == default


def test_the_command_waits_only_where_it_was_told_to_wait(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["live", "--config", str(file)]) == 2
    assert f"{file}:2: capo: expected" in capsys.readouterr().err


def test_the_command_waits_shows_and_ends_with_0_when_it_is_stopped(
    file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    screen = MemoryScreen()

    def panel(_: Any) -> MemoryScreen:
        signal.pthread_kill(threading.get_ident(), signal.SIGTERM)
        return screen

    monkeypatch.setattr(wiring, "panel", panel)
    monkeypatch.setattr(broken_settings, "LOOK_S", 0.01)
    assert main(["live", "--wait", "--config", str(file)]) == 0
    assert screen.pictures
    assert "it is taken up by itself" in capsys.readouterr().err


def shown_on(file: Path, monkeypatch: pytest.MonkeyPatch) -> Display:
    """The panel that the command shows a slip in this file on."""
    displays: list[Display] = []

    def panel(display: Display) -> MemoryScreen:
        displays.append(display)
        signal.pthread_kill(threading.get_ident(), signal.SIGTERM)
        return MemoryScreen()

    monkeypatch.setattr(wiring, "panel", panel)
    monkeypatch.setattr(broken_settings, "LOOK_S", 0.01)
    assert main(["live", "--wait", "--config", str(file)]) == 0
    return displays[0]


@pytest.mark.parametrize("slip", ["capo: high\n", "capo: [\n"], ids=["a wrong value", "no settings at all"])
def test_the_fault_is_on_the_panel_that_the_set_up_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, slip: str
) -> None:
    """The fault: it went out for the usual panel, and another was dark, shifted, or upside down."""
    place = f"state: {{folder: {tmp_path}}}\n"
    monkeypatch.setenv("STATE_DIRECTORY", str(tmp_path))  # a file that cannot be read does not say where the state lies
    found = {"display.kind": "sh1106", "display.i2c_address": "0x3D", "display.rotation": "180"}
    found_file(loads(place)).save(dict(found))
    file = tmp_path / "pedal.yaml"
    file.write_text(place + slip)
    display = shown_on(file, monkeypatch)
    assert (display.kind, display.i2c_address, display.rotation) == ("sh1106", 0x3D, 180)


@pytest.mark.parametrize("on_the_card", ["good", "broken", "none"])
def test_the_fault_is_on_the_panel_that_the_card_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, on_the_card: str
) -> None:
    """Its own text where that is good, else the last good one; and over both what the set-up found."""
    file, folder = tmp_path / "installed.yaml", tmp_path / "boot"
    monkeypatch.setattr(card, "SERVICE_FILE", file)
    monkeypatch.setattr(card, "CARD", folder)
    folder.mkdir()
    wired = "display: {kind: sh1106, i2c_address: 0x3D}\n"
    text = {"good": wired, "broken": "display: {kind: banjo}\n", "none": ""}[on_the_card]
    (folder / "undertoe.yaml").write_text(text)
    if on_the_card == "broken":
        (tmp_path / card.GOOD).write_text(wired)
    place, installed = f"state: {{folder: {tmp_path}}}\n", "display: {kind: ssd1309}\n"
    found_file(loads(place + (installed if on_the_card == "none" else wired))).save({"display.rotation": "180"})
    file.write_text(f"{place}{installed}capo: high\n")
    display = shown_on(file, monkeypatch)
    wanted = ("ssd1309", 0x3C, 180) if on_the_card == "none" else ("sh1106", 0x3D, 180)
    assert (display.kind, display.i2c_address, display.rotation) == wanted
