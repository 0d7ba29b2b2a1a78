"""Logs of older versions (stored in tests/reference, with their makers) open in this one with everything they held."""

from __future__ import annotations

import json
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from pedal.log import StoreReader, open_store
from pedal.log.row import AROUND_COLUMNS, VERDICT_COLUMNS
from pedal.log.schema import VERSION
from pedal.log.sharing import export_sessions, import_sessions
from pedal.modes.log_entry import LogEntry

Build = Callable[..., LogEntry]
REFERENCE = Path(__file__).parents[1] / "reference"
OLD = REFERENCE / "old_log_v1.sqlite"
RELEASED, RELEASED_EXPORT = REFERENCE / "log_0_1_0.sqlite", REFERENCE / "log_0_1_0.jsonl"
"""A log that 0.1.0 wrote, and what 0.1.0 exported of it."""
KILLED = """
import os, signal, sys
from pedal.log import open_store
from pedal.log import schema

class Killed:
    def __init__(self, connection):
        self.connection, self.left = connection, int(sys.argv[2])
    def execute(self, *statement):
        if self.left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        self.left -= 1
        return self.connection.execute(*statement)
    def __getattr__(self, name):
        return getattr(self.connection, name)

bring = schema.bring_up_to_date
import pedal.log.opening as opening
opening.bring_up_to_date = lambda connection: bring(Killed(connection))
open_store(sys.argv[1]).close()
"""


@pytest.fixture
def released(tmp_path: Path) -> Path:
    return Path(shutil.copy(RELEASED, tmp_path / "released.sqlite"))


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


@pytest.mark.parametrize("old", [OLD, RELEASED], ids=["1", "2"])
def test_an_old_file_moved_forward_has_the_shape_of_a_new_one(old: Path, tmp_path: Path) -> None:
    moved = Path(shutil.copy(old, tmp_path / "old.sqlite"))
    open_store(moved).close()
    open_store(tmp_path / "new.sqlite").close()
    assert schema(moved) == schema(tmp_path / "new.sqlite")


@pytest.mark.parametrize(("old", "entries"), [(OLD, [8, 8]), (RELEASED, [17, 12])], ids=["1", "2"])
def test_looking_at_an_old_log_does_not_change_it(old: Path, entries: list[int], tmp_path: Path) -> None:
    looked_at = Path(shutil.copy(old, tmp_path / "old.sqlite"))
    with StoreReader(looked_at) as log:
        assert [session.entries for session in log.sessions()] == entries
    assert looked_at.read_bytes() == old.read_bytes()


def exported(log: Path, to: Path) -> list[dict[str, object]]:
    with StoreReader(log) as reader:
        sessions = reader.sessions()
    export_sessions(log, to, sessions)
    return [json.loads(line) for line in to.read_text(encoding="utf-8").splitlines()]


@pytest.mark.parametrize("moved", [False, True], ids=["looked_at", "moved_forward"])
def test_a_log_of_0_1_0_gives_what_0_1_0_itself_exported_of_it(released: Path, tmp_path: Path, moved: bool) -> None:
    if moved:
        open_store(released).close()
    assert version(released) == (VERSION if moved else 2)
    head, *then = [json.loads(line) for line in RELEASED_EXPORT.read_text(encoding="utf-8").splitlines()]
    with StoreReader(released) as log:
        whose = {"pedal_uid": log.pedal_uid()}  # which 0.1.0 did not say
    assert exported(released, tmp_path / "now.jsonl") == [head | whose, *then]
    assert len(then) == 2 + 29


def test_an_export_of_0_1_0_is_taken_in_whole(tmp_path: Path) -> None:
    assert import_sessions(RELEASED_EXPORT, tmp_path / "log.sqlite") == (2, 29)
    assert import_sessions(RELEASED, tmp_path / "log.sqlite") == (0, 0), "the log itself holds the same notes"
    _, *again = exported(tmp_path / "log.sqlite", tmp_path / "again.jsonl")
    assert again == [json.loads(line) for line in RELEASED_EXPORT.read_text(encoding="utf-8").splitlines()][1:]


def test_what_0_1_0_did_not_know_reads_as_it_was_taken_then(released: Path) -> None:
    with StoreReader(released) as log:
        entries = [entry for session in log.sessions() for entry in log.entries(session.id)]
    (told,) = {
        (e.verdict.rest_heard, e.verdict.begun_by, e.verdict.vibrato_side, e.verdict.vibrato_evenness)
        for e in entries
        if e.verdict
    }
    assert told == (True, "pluck", None, None)
    assert {getattr(entry, name) for entry in entries for name in AROUND_COLUMNS} == {None}


def test_what_is_new_goes_through_an_export_and_a_log(tmp_path: Path, an_entry: Build) -> None:
    new = {
        "rest_heard": False, "begun_by": "slide", "vibrato_side": "above", "vibrato_evenness": 0.75,
        "lick": "The climb", "lick_pass": 3, "lick_note": 7, "lick_mark": "left out", "beat_ms": -31.25, "chord": "Bb7",
    }  # fmt: skip
    store = open_store(tmp_path / "one.sqlite")
    store.append([an_entry(**new)])
    store.close()
    exported(tmp_path / "one.sqlite", tmp_path / "one.jsonl")
    for source in ("one.jsonl", "one.sqlite"):
        log = tmp_path / f"from-{source}.sqlite"
        assert import_sessions(tmp_path / source, log) == (1, 1)
        with StoreReader(log) as reader:
            (kept,) = reader.entries(1)
        assert {name: getattr(kept.verdict if name in VERDICT_COLUMNS else kept, name) for name in new} == new


@pytest.mark.parametrize(("old", "step"), [(OLD, 4), (RELEASED, 1)], ids=["1", "2"])
def test_a_move_killed_anywhere_leaves_the_old_log_or_the_new_one(old: Path, step: int, tmp_path: Path) -> None:
    """The plug pulled before the n-th statement of the move, for every n (of the longer one every fourth)."""
    want = exported(Path(shutil.copy(old, tmp_path / "untouched.sqlite")), tmp_path / "want.jsonl")
    moved, statements = tmp_path / "moved.sqlite", 0
    seen = set()
    while True:
        shutil.copy(old, moved)
        words = [sys.executable, "-c", KILLED, str(moved), str(statements)]
        status = subprocess.run(words, check=False, capture_output=True, timeout=60).returncode
        assert status in (0, -signal.SIGKILL)
        seen.add(version(moved))
        assert exported(moved, tmp_path / "found.jsonl") == want
        for ending in ("-wal", "-shm"):
            moved.with_name(moved.name + ending).unlink(missing_ok=True)
        if status == 0:
            break
        statements += step
    assert statements > len(AROUND_COLUMNS)
    assert seen == {version(old), VERSION}


def test_a_move_that_fails_leaves_the_old_file_as_it_was(old_log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pedal.log.schema._FROM_1", "ALTER TABLE session RENAME TO session_1;\nSELECT nonsense;\n")
    with pytest.raises(Exception, match="nonsense"):
        open_store(old_log)
    monkeypatch.undo()
    assert version(old_log) == 1
    with StoreReader(old_log) as log:
        assert [session.entries for session in log.sessions()] == [8, 8]
