"""Keeping tells the player what the log went through, once, wherever it shows."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from pedal.app.keeping import DiskKeeping
from pedal.app.store import open_store
from pedal.app.store.reader import StoreReader
from pedal.modes.log_entry import LogEntry
from tests.app.doubles import ListStore

ENTRY = LogEntry(1.0, "watch", "G minor pentatonic", None)


def keep_and_stop(keeping: DiskKeeping, *entries: LogEntry) -> None:
    """Everything handed over is written, in this thread: a worker told to stop writes the rest."""
    keeping.keep(entries)
    stop = threading.Event()
    stop.set()
    keeping.work(stop)


def test_a_damaged_log_is_told_and_the_note_kept_in_a_fresh_one(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    log.write_bytes(b"not a database" * 100)
    keeping = DiskKeeping(lambda: open_store(log), None)
    keep_and_stop(keeping, ENTRY)
    (sentence,) = keeping.remarks
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
    keeping = DiskKeeping(lambda: store, None)
    keep_and_stop(keeping, ENTRY)
    keep_and_stop(keeping, ENTRY)
    assert keeping.remarks == [store.remark]
    assert len(store.entries) == 2


@pytest.mark.parametrize("entries", [(), (ENTRY,)])
def test_a_sound_log_is_not_talked_about(entries: tuple[LogEntry, ...]) -> None:
    keeping = DiskKeeping(ListStore, None)
    keep_and_stop(keeping, *entries)
    assert keeping.remarks == []
