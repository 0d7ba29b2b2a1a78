"""Keeping tells the player what the log went through, once, wherever it shows."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pedal.errors import StoreError
from pedal.live.lick_folder import LickFolder
from pedal.live.log_writer import LogWriter, _curve_bytes
from pedal.live.memory_file import MemoryFile
from pedal.log import open_store
from pedal.log.reader import StoreReader
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.synth.drills import lick_of_the_scene
from tests.live.doubles import ListStore
from tests.log.conftest import BENT

# Written out, and not taken from the code, so that a change of it is seen.
MOST_CURVE_BYTES, MOST_ENTRIES = 8_000_000, 2048

ENTRY = LogEntry(1.0, "watch", "G minor pentatonic", None)


def keep_and_stop(log_writer: LogWriter, *entries: LogEntry) -> None:
    """Everything handed over is written, in this thread: a worker told to stop writes the rest."""
    log_writer.keep(entries)
    stop = threading.Event()
    stop.set()
    log_writer.work(stop)


def test_a_damaged_log_is_told_and_the_note_kept_in_a_fresh_one(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    log.write_bytes(b"not a database" * 100)
    log_writer = LogWriter(lambda: open_store(log), None)
    keep_and_stop(log_writer, ENTRY)
    (sentence,) = log_writer.remarks
    assert "was damaged" in sentence
    assert "kept as log.damaged-1.sqlite" in sentence
    with StoreReader(log) as reader:
        assert [session.entries for session in reader.sessions()] == [1]


class DamagedWhileWriting(ListStore):
    def append(self, entries: list[LogEntry]) -> None:
        super().append(entries)
        self.remark = "The log was damaged: it is kept as log.damaged-1.sqlite."


def test_damage_found_while_writing_is_told_once() -> None:
    store = DamagedWhileWriting()
    log_writer = LogWriter(lambda: store, None)
    keep_and_stop(log_writer, ENTRY)
    keep_and_stop(log_writer, ENTRY)
    assert log_writer.remarks == [store.remark]
    assert len(store.entries) == 2


@pytest.mark.parametrize("entries", [(), (ENTRY,)])
def test_a_sound_log_is_not_talked_about(entries: tuple[LogEntry, ...]) -> None:
    log_writer = LogWriter(ListStore, None)
    keep_and_stop(log_writer, *entries)
    assert log_writer.remarks == []


class FullDisk(ListStore):
    """Refuses until there is room."""

    room = False

    def append(self, entries: list[LogEntry]) -> None:
        if not self.room:
            raise StoreError("the disk is full")
        super().append(entries)


def a_long_note(number: int) -> LogEntry:
    curve = Trace(np.zeros(22_500), np.ones(22_500), np.zeros(22_500))
    return replace(ENTRY, time_s=float(number), verdict=replace(BENT, trace=curve))


def test_while_the_disk_is_full_curves_go_first_and_every_verdict_waits() -> None:
    store, now_s = FullDisk(), [0.0]
    log_writer = LogWriter(lambda: store, None, clock=lambda: now_s[0])
    for number in range(100):
        log_writer.keep((a_long_note(number),))
        log_writer._write()
    assert log_writer.paused
    held = sum(_curve_bytes(entry) for entry in log_writer._waiting)
    assert 0.9 * MOST_CURVE_BYTES < held <= MOST_CURVE_BYTES
    store.room, now_s[0] = True, 100.0
    log_writer._write()
    assert not log_writer.paused
    assert [entry.time_s for entry in store.entries] == list(range(100))
    log_writer.keep((a_long_note(100),))
    log_writer._write()
    assert _curve_bytes(store.entries[-1]) > 0  # there is room for curves again


def test_what_no_longer_fits_is_counted() -> None:
    log_writer = LogWriter(FullDisk, None)
    for _ in range(3):
        log_writer.keep((ENTRY,) * (MOST_ENTRIES // 2))
        log_writer._write()
    assert (len(log_writer._waiting), log_writer.dropped) == (MOST_ENTRIES, MOST_ENTRIES // 2)


def test_what_the_disk_refuses_to_the_end_is_counted_as_lost() -> None:
    log_writer = LogWriter(FullDisk, None)
    keep_and_stop(log_writer, ENTRY, ENTRY, ENTRY)
    assert log_writer.dropped == 3


def test_an_entry_that_cannot_be_written_costs_itself_alone() -> None:
    """Over a fault of ours the part is begun again: with the whole batch it would fail for ever."""

    class Choosy(ListStore):
        def append(self, entries: list[LogEntry]) -> None:
            if any(entry.time_s == 2.0 for entry in entries):
                raise OverflowError("too large for the file")
            super().append(entries)

    store, stop = Choosy(), threading.Event()
    log_writer = LogWriter(lambda: store, None)
    log_writer.keep(tuple(replace(ENTRY, time_s=float(number)) for number in (1, 2, 3, 4)))
    stop.set()
    for _ in range(2):  # all in one batch; then one by one
        with pytest.raises(OverflowError):
            log_writer.work(stop)
    log_writer.work(stop)
    assert [entry.time_s for entry in store.entries] == [1.0, 3.0, 4.0]
    assert log_writer.dropped == 1


def test_a_disk_that_refuses_while_entries_are_written_one_by_one_loses_none() -> None:
    class Restless(ListStore):
        faults = [ValueError("ours"), None, StoreError("the disk is full: make room"), None, None]  # noqa: RUF012

        def append(self, entries: list[LogEntry]) -> None:
            fault = self.faults.pop(0)
            if fault is not None:
                raise fault
            super().append(entries)

    store, stop = Restless(), threading.Event()
    now_s = [0.0]
    log_writer = LogWriter(lambda: store, None, clock=lambda: now_s[0])
    log_writer.keep(tuple(replace(ENTRY, time_s=float(number)) for number in (1, 2, 3)))
    stop.set()
    with pytest.raises(ValueError, match="ours"):
        log_writer.work(stop)
    log_writer._write()
    now_s[0] = 100.0
    log_writer._write()
    assert [entry.time_s for entry in store.entries] == [1.0, 2.0, 3.0]
    assert log_writer.dropped == 0


def test_a_lick_is_kept_before_the_memory_that_names_it(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path / "licks")
    writer = LogWriter(None, MemoryFile(tmp_path / "memory.json", {}), licks=folder)
    writer.keep_licks((KeptLick(0, lick_of_the_scene()), KeptLick(3, lick_of_the_scene())))
    writer.remember({"lick": 3})
    stop = threading.Event()
    stop.set()
    writer.work(stop)
    assert [one.number for one in folder.load()] == [0, 3]
    assert not writer.remarks


def test_a_lick_that_the_disk_refuses_is_told_on_the_panel(tmp_path: Path) -> None:
    (tmp_path / "licks").write_text("no folder")
    writer = LogWriter(None, None, licks=LickFolder(tmp_path / "licks"))
    writer.keep_licks((KeptLick(0, lick_of_the_scene()),))
    stop = threading.Event()
    stop.set()
    writer.work(stop)
    assert writer.notices == ["The lick cannot be kept: the disk refuses it."]
    assert "a lick cannot be kept" in writer.remarks[0]


def test_what_is_handed_over_faster_than_it_is_taken_in_is_counted_one_by_one() -> None:
    log_writer = LogWriter(ListStore, None)
    assert (log_writer.paused, log_writer.dropped) == (False, 0)
    log_writer.keep((ENTRY,) * (MOST_ENTRIES + 3))
    assert (log_writer.paused, log_writer.dropped) == (True, 3)


def test_a_disk_that_refused_is_asked_again_after_five_seconds() -> None:
    now_s, asked_s = [10.0], []

    class Asked(FullDisk):
        def append(self, entries: list[LogEntry]) -> None:
            asked_s.append(now_s[0])
            super().append(entries)

    log_writer = LogWriter(Asked, None, clock=lambda: now_s[0])
    log_writer.keep((ENTRY,))
    for tenth in range(100, 206):
        now_s[0] = tenth / 10
        log_writer._write()
    assert asked_s == [10.0, 15.0, 20.0]


def test_of_what_the_pedal_was_doing_the_newest_is_written() -> None:
    class Saved:
        def __init__(self) -> None:
            self.memories: list[object] = []

        def save(self, memory: object) -> None:
            self.memories.append(memory)

    saved = Saved()
    log_writer = LogWriter(None, saved)  # type: ignore[arg-type]
    for key in ("A", "B", "C"):
        log_writer.remember({"key": key})
    log_writer._write()
    log_writer._write()
    assert saved.memories == [{"key": "C"}]


def test_a_curve_weighs_what_its_three_rows_do() -> None:
    assert _curve_bytes(a_long_note(1)) == 3 * 8 * 22_500
    assert _curve_bytes(ENTRY) == 0
