"""Keeping tells the player what the log went through, once, wherever it shows."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pedal.errors import StoreError
from pedal.live.log_writer import MOST_CURVE_BYTES, MOST_ENTRIES, LogWriter, _curve_bytes
from pedal.log import open_store
from pedal.log.reader import StoreReader
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from tests.live.doubles import ListStore
from tests.log.conftest import BENT

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
    log_writer = LogWriter(lambda: store, None)
    log_writer.keep(tuple(replace(ENTRY, time_s=float(number)) for number in (1, 2, 3)))
    stop.set()
    with pytest.raises(ValueError, match="ours"):
        log_writer.work(stop)
    log_writer.work(stop)
    log_writer.work(stop)
    assert [entry.time_s for entry in store.entries] == [1.0, 2.0, 3.0]
    assert log_writer.dropped == 0
