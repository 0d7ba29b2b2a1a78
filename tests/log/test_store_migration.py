"""A log of version 1 (stored in tests/reference, with its maker) opens in this version with everything it held."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from pedal.log import StoreReader, open_store
from pedal.log.schema import VERSION
from pedal.modes.log_entry import LogEntry

Build = Callable[..., LogEntry]
OLD = Path(__file__).parents[1] / "reference" / "old_log_v1.sqlite"


@pytest.fixture
def old_log(tmp_path: Path) -> Path:
    return Path(shutil.copy(OLD, tmp_path / "log.sqlite"))


def schema(path: Path) -> list[tuple[str, ...]]:
    file = sqlite3.connect(path)
    found = file.execute("SELECT type, name, replace(sql, '\"', '') FROM sqlite_schema WHERE sql NOTNULL ORDER BY 1, 2")
    rows = found.fetchall()
    file.close()
    return rows


def version(path: Path) -> int:
    file = sqlite3.connect(path)
    number = file.execute("PRAGMA user_version").fetchone()[0]
    file.close()
    return int(number)


def test_the_stored_file_is_of_version_1() -> None:
    assert version(OLD) == 1 < VERSION


def test_everything_is_still_there_after_moving_forward(old_log: Path, an_entry: Build) -> None:
    store = open_store(old_log)
    store.append([an_entry(time_s=77.0)])
    store.close()
    assert version(old_log) == VERSION
    with StoreReader(old_log) as log:
        first, second, new = log.sessions()
        entries = list(log.entries(first.id, with_traces=True))
    assert (first.uid, first.begun_wall_s, first.wall_doubtful) == ("5e" * 16, 1_780_000_000.0, False)
    assert (second.counter, second.wall_doubtful, new.counter) == (2, True, 3)
    assert first.pedal_uid == second.pedal_uid == new.pedal_uid == "0123456789abcdef" * 2
    assert [entry.skipped for entry in entries] == [number % 3 == 0 for number in range(1, 9)]
    assert [entry.mode for entry in entries] == ["blind", "curl"] * 4
    assert [entry.a4_hz for entry in entries] == [442.0, 440.0] * 4
    assert [entry.verdict.error_cents for entry in entries if entry.verdict] == [-20.0 + n for n in (1, 2, 4, 5, 7, 8)]
    assert entries[6].verdict.trace.hz[-1] == pytest.approx(233.082 * 2 ** (70 / 1200), rel=3e-5)


def test_an_old_file_moved_forward_has_the_shape_of_a_new_one(old_log: Path, tmp_path: Path) -> None:
    open_store(old_log).close()
    open_store(tmp_path / "new.sqlite").close()
    assert schema(old_log) == schema(tmp_path / "new.sqlite")


def test_looking_at_an_old_log_does_not_change_it(old_log: Path) -> None:
    before = old_log.read_bytes()
    with StoreReader(old_log) as log:
        assert [session.entries for session in log.sessions()] == [8, 8]
    assert old_log.read_bytes() == before


def test_a_move_that_fails_leaves_the_old_file_as_it_was(old_log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pedal.log.schema._FROM_1", "ALTER TABLE session RENAME TO session_1;\nSELECT nonsense;\n")
    with pytest.raises(Exception, match="nonsense"):
        open_store(old_log)
    monkeypatch.undo()
    assert version(old_log) == 1
    with StoreReader(old_log) as log:
        assert [session.entries for session in log.sessions()] == [8, 8]
