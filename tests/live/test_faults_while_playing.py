"""Faults that come in the middle of playing, put into the whole loop: what is said, and what is kept."""

from __future__ import annotations

import errno
import os
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from pedal.errors import DeviceError
from pedal.live.assembly import Controls, assemble
from pedal.live.capture import Capture
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop
from pedal.live.memory_file import MemoryFile
from pedal.live.printer import Printer
from pedal.log import StoreReader, open_store
from pedal.modes.pedal import Pedal, PedalState
from pedal.ports import Block
from pedal.settings.load import load
from tests.live.doubles import HandedSignals, HandSwitches, ScriptedSource, a_bend_in_blocks

SETTINGS = load(None, environment={"HOME": "/nowhere"})
Fault = Callable[[Path], None]


class Between(ScriptedSource):
    """A bend, then something happens to the disk, then a bend again, and the end."""

    def __init__(self, happen: Callable[[], object]) -> None:
        super().__init__([*a_bend_in_blocks(), *a_bend_in_blocks()], ends=True)
        self._left, self._happen = len(self._steps) // 2, happen

    def read(self) -> Block | None:
        self._left -= 1
        if self._left == 0:
            self._happen()
        return super().read()


def play(
    source: Callable[[], ScriptedSource], folder: Path, *, wall: Callable[[], float] = time.time, **options: object
) -> tuple[list[str], Printer]:
    """The remarks of a run with a real log and memory in the folder, and who counted its verdicts."""
    remarks: list[str] = []
    log_writer = LogWriter(
        lambda: open_store(folder / "log.sqlite", wall=wall), MemoryFile(folder / "remembered.json", {"mode": "watch"})
    )
    printer = Printer(None)
    parts = assemble(
        Pedal(PedalState()),
        Capture(source, live=False),
        log_writer=log_writer,
        printer=printer,
        **options,  # type: ignore[arg-type]
    )
    assert Loop(parts, signals=HandedSignals(), remark=remarks.append).run() == "over"
    for worker in parts.workers:  # a slow disk may take longer than the loop waits; the process waits for it at its end
        assert worker.stop(20.0)
    return remarks, printer


def kept(log: Path) -> int:
    with StoreReader(log) as reader:
        return sum(len(list(reader.entries(session.id))) for session in reader.sessions())


def test_a_log_damaged_in_the_middle_of_playing_costs_no_new_verdict(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    store = open_store(log)
    store.close()

    def damage() -> None:
        with log.open("r+b") as file:
            file.write(b"\xff" * 4096)

    _, printer = play(lambda: Between(damage), tmp_path)
    assert printer.summary() == "2 notes: 2 true"
    assert kept(log) == 2


def test_a_log_locked_by_another_program_for_good_is_said_and_playing_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.log.opening.BUSY_S", 0.01)
    log = tmp_path / "log.sqlite"
    open_store(log).close()
    other = sqlite3.connect(log, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    remarks, printer = play(lambda: Between(lambda: None), tmp_path)
    other.execute("ROLLBACK")
    other.close()
    assert printer.summary() == "2 notes: 2 true"
    assert any("another program holds it" in remark for remark in remarks)


def test_a_state_folder_that_is_taken_away_is_made_again_by_the_next_run(tmp_path: Path) -> None:
    folder = tmp_path / "state"
    play(lambda: Between(lambda: None), folder)
    assert kept(folder / "log.sqlite") == 2
    for file in folder.iterdir():
        file.unlink()
    folder.rmdir()
    _, printer = play(lambda: Between(lambda: None), folder)
    assert printer.summary() == "2 notes: 2 true"
    assert kept(folder / "log.sqlite") == 2


def test_a_read_only_state_folder_is_said_once_and_nothing_stops(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a root file system does that was mounted again for reading after a fault of the card."""
    real = os.open

    def read_only(path: object, flags: int, *more: object, **named: object) -> int:
        if str(path).startswith(str(tmp_path)) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            raise OSError(errno.EROFS, "Read-only file system")
        return real(path, flags, *more, **named)  # type: ignore[call-overload, no-any-return]

    monkeypatch.setattr(os, "open", read_only)
    (tmp_path / "log.sqlite").mkdir()  # SQLite opens files by itself: it gets one that it cannot open
    remarks, printer = play(lambda: Between(lambda: None), tmp_path)
    assert printer.summary() == "2 notes: 2 true"
    assert "2 log entries lost" in remarks
    assert len([remark for remark in remarks if "log" in remark]) == 2  # and the fault, once
    assert len([remark for remark in remarks if "cannot be remembered" in remark]) == 1


def test_a_device_that_is_busy_when_it_comes_back_is_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.capture.BACK_OFF_LEAST_S", 0.01)
    busy = DeviceError("guitar is busy: end the program that uses it, or choose another input")
    gone = DeviceError("the audio input stopped: plug it in again")
    sources = [
        ScriptedSource([*a_bend_in_blocks(), gone]),
        ScriptedSource([], at_open=busy),
        ScriptedSource([], at_open=busy),
        ScriptedSource([*a_bend_in_blocks()], ends=True),
    ]
    remarks, printer = play(lambda: sources.pop(0), tmp_path)
    assert printer.summary() == "2 notes: 2 true"
    assert remarks.count(str(busy)) == 1
    assert sources == []


def test_a_storm_of_overflows_ends_and_the_next_bend_is_judged(tmp_path: Path) -> None:
    storm = [Block(np.zeros(128, np.float32), lost_samples=128 * (1 + n % 7), overflows=1) for n in range(3000)]
    steps = [*a_bend_in_blocks(), *storm, *a_bend_in_blocks()]
    _, printer = play(lambda: ScriptedSource(steps, ends=True), tmp_path)
    assert printer.summary() == "2 notes: 2 true"


def test_a_switch_that_is_down_at_the_start_moves_nothing_for_good(tmp_path: Path) -> None:
    """A foot that rests on the pedal when power comes: one long press at the most, and the bends are judged."""

    class Stuck(HandSwitches):
        def open(self, edge: Callable[[float, int, bool], None]) -> None:
            super().open(edge)
            edge(0.0, 1, True)

    feet = Stuck()
    _, printer = play(lambda: Between(lambda: None), tmp_path, controls=Controls(feet, 2, SETTINGS.switches))
    assert printer.summary().startswith("2 notes")
    assert feet.closed


@pytest.mark.parametrize("years", [-60, -1, 1, 60])
def test_a_wall_clock_that_jumps_years_moves_no_note(tmp_path: Path, years: int) -> None:
    jumped_s: list[float] = []

    def wall() -> float:
        return time.time() + sum(jumped_s)

    _, printer = play(lambda: Between(lambda: jumped_s.append(years * 365.25 * 86_400)), tmp_path, wall=wall)
    play(lambda: Between(lambda: None), tmp_path, wall=wall)
    assert printer.summary() == "2 notes: 2 true"
    with StoreReader(tmp_path / "log.sqlite") as reader:
        sessions = reader.sessions()
        assert [session.id for session in sessions] == [1, 2]
        for session in sessions:
            first, second = (entry.time_s for entry in reader.entries(session.id))
            assert 1.0 < second - first < 5.0
