"""Every bound of a log with its figure written out, and what is done at it and just beyond."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from pathlib import Path

import numpy as np
import pytest

from pedal.errors import StoreError
from pedal.log import StoreReader, open_store, sharing, thinning
from pedal.log.bounds import (
    AROUND,
    ASKED,
    JUDGED,
    SESSION,
    SETTING,
    Range,
    Text,
    UnsoundError,
    check_entry,
    check_session,
)
from pedal.log.opening import StepLimit, harden, open_log, set_aside
from pedal.log.sharing import export_sessions, forget_session, import_sessions
from pedal.log.trace_blob import decode_trace, encode_trace
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from tests.log.test_door import ENTRY
from tests.log.test_door import SESSION as A_SESSION

Build = Callable[..., LogEntry]
RULES = SESSION | SETTING | ASKED | AROUND | JUDGED
CENTS, RUNNING, LENGTH, COUNT, YES_NO = (-12_000, 12_000), (-1e9, 1e9), (0, 3600), (1, 10_000_000), (0, 1)
RANGES = {
    "counter": COUNT, "begun_wall_s": (-4_102_444_800, 4_102_444_800), "wall_shift_s": (-8_204_889_600, 8_204_889_600),
    "wall_doubtful": YES_NO, "drone": YES_NO, "a4_hz": (100, 1000), "number": COUNT, "time_s": RUNNING,
    "position": (1, 12), "string": (1, 24), "fret": (0, 99), "skipped": YES_NO, "lick_pass": COUNT,
    "lick_note": (1, 999), "beat_ms": (-60_000, 60_000), "onset_s": RUNNING, "end_s": RUNNING, "rest_cents": CENTS,
    "bend_cents": CENTS, "error_cents": CENTS, "absolute_cents": CENTS, "peak_cents": CENTS, "overshoot_cents": CENTS,
    "rise_s": LENGTH, "hold_s": LENGTH, "final_cents": CENTS, "vibrato_hz": (0, 1000), "vibrato_cents": (0, 12_000),
    "rest_heard": YES_NO, "vibrato_evenness": (0, 1),
}  # fmt: skip
LETTERS = {
    "uid": 32, "pedal_uid": 32, "player": 80, "key": 80, "tuning": 120, "lick": 80, "lick_mark": 40, "chord": 20,
    "reason": 1000,
}  # fmt: skip
DAY_S = 86_400.0
NOW_S = 1_790_000_000.0
RELEASE_S = 1_750_000_000.0


def test_every_column_keeps_to_the_range_that_is_written_here() -> None:
    assert {name: (rule.least, rule.most) for name, rule in RULES.items() if isinstance(rule, Range)} == RANGES
    assert {name: rule.most for name, rule in RULES.items() if isinstance(rule, Text)} == LETTERS


@pytest.mark.parametrize(
    ("begun", "shift", "fine"),
    [
        (4e9, 102_444_800.0, True), (4e9, 102_444_801.0, False), (-4e9, -102_444_800.0, True),
        (-4e9, -102_444_801.0, False), (4_102_444_800.0, -4_102_444_800.0, True),
        (0.0, 4_102_444_800.0, True), (0.0, 4_102_444_801.0, False), (0.0, -4_102_444_800.0, True),
        (-4_102_444_800.0, 0.0, True), (4_102_444_800.0, 0.0, True),
    ],
)  # fmt: skip
def test_a_session_begins_before_2100_its_shift_counted(begun: float, shift: float, fine: bool) -> None:
    with nullcontext() if fine else pytest.raises(UnsoundError, match="a date before 2100"):
        check_session(A_SESSION | {"begun_wall_s": begun, "wall_shift_s": shift})


@pytest.mark.parametrize(
    ("onset", "end", "fine"),
    [
        (5.0, 5.0, True),
        (5.0, 3605.0, True),
        (5.0, 3605.1, False),
        (5.0, 4.9, False),
        (0.0, 0.0, True),
        (0.0, 3600.0, True),
        (-3600.0, 0.0, True),
    ],
)
def test_a_note_lasts_from_nothing_to_an_hour(onset: float, end: float, fine: bool) -> None:
    with nullcontext() if fine else pytest.raises(UnsoundError, match="a note must last 0 to 3600 s"):
        check_entry(ENTRY | {"onset_s": onset, "end_s": end})


def test_what_a_statement_may_take_is_set_on_every_connection() -> None:
    connection = sqlite3.connect(":memory:")
    harden(connection)
    limits = (
        "LENGTH",
        "SQL_LENGTH",
        "COLUMN",
        "EXPR_DEPTH",
        "COMPOUND_SELECT",
        "FUNCTION_ARG",
        "ATTACHED",
        "TRIGGER_DEPTH",
    )
    found = [connection.getlimit(getattr(sqlite3, f"SQLITE_LIMIT_{limit}")) for limit in limits]
    assert found == [4_000_000, 100_000, 200, 200, 5, 20, 0, 5]
    pragmas = [connection.execute(f"PRAGMA {name}").fetchone() for name in ("trusted_schema", "cell_size_check")]
    assert pragmas == [(0,), (1,)]
    connection.close()


@pytest.mark.parametrize(("size", "steps"), [(0, 400), (49_999, 400), (50_000, 401), (1_000_000, 420)])
def test_a_statement_may_take_so_many_million_steps_and_the_next_as_many(size: int, steps: int, tmp_path: Path) -> None:
    class Connection:
        def set_progress_handler(self, step: Callable[[], int], every: int) -> None:
            self.step, self.every = step, every

    path = tmp_path / "log.sqlite"
    path.write_bytes(bytes(size))
    connection = Connection()
    limit = StepLimit(connection, path)  # type: ignore[arg-type]
    assert connection.every == 1_000_000
    for _ in range(2):
        limit.begin()
        assert [connection.step() for _ in range(steps + 1)] == [0] * steps + [1]


def test_a_log_that_is_written_flushes_each_commit_and_waits_two_seconds(tmp_path: Path) -> None:
    connection, remark = open_log(tmp_path / "deep" / "log.sqlite")
    names = ("journal_mode", "synchronous", "journal_size_limit", "foreign_keys", "busy_timeout")
    assert [connection.execute(f"PRAGMA {name}").fetchone()[0] for name in names] == ["wal", 2, 4_194_304, 1, 2000]
    assert remark == ""
    assert (tmp_path / "deep").stat().st_mode & 0o777 == 0o700
    connection.close()


@pytest.mark.parametrize("suffix", [".sqlite", ".sqlite3", ".db"])
def test_a_damaged_log_goes_with_all_that_belongs_to_it(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"log{suffix}"
    for ending in ("", "-wal", "-shm"):
        path.with_name(path.name + ending).write_text(ending)
    assert "it is kept as" in set_aside(path, "torn")
    assert {one.name: one.read_text() for one in tmp_path.iterdir()} == {
        f"log.damaged-1{suffix}{ending}": ending for ending in ("", "-wal", "-shm")
    }


def test_the_size_is_looked_at_with_the_first_batch_and_each_64th_after_it(
    tmp_path: Path, an_entry: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[tuple[int, int]] = []
    monkeypatch.setattr(thinning, "keep_below", lambda _, most: looked.append((batch, most)))
    store = open_store(tmp_path / "log.sqlite", most_bytes=7)
    for batch in range(1, 131):  # noqa: B007 (the look takes it)
        store.append([an_entry(verdict=None)])
    store.close()
    assert looked == [(1, 7), (65, 7), (129, 7)]


def a_log(path: Path, entries: list[LogEntry]) -> Path:
    store = open_store(path, wall=lambda: NOW_S, monotonic=lambda: 0.0)
    store.append(entries)
    store.close()
    return path


@pytest.fixture
def log(tmp_path: Path, an_entry: Build) -> Path:
    return a_log(tmp_path / "log.sqlite", [an_entry(time_s=float(n)) for n in range(3)])


def fill(log: Path, statement: str, numbers: range) -> None:
    with sqlite3.connect(log) as file:
        file.executemany(statement, ((n, f"{n:032x}") for n in numbers))


@pytest.mark.parametrize(
    ("statement", "asked", "most"),
    [
        ("INSERT INTO session VALUES (?, ?, 'd', 1, '', 0, 0, 0)", StoreReader.session_ids, 100_000),
        ("INSERT INTO setting VALUES (?, 'watch', 'A minor', 0, 440, ?)", StoreReader.settings, 60_000),
    ],
    ids=["sessions", "settings"],
)
def test_a_log_may_hold_so_many_and_not_one_more(log: Path, statement: str, asked: Callable, most: int) -> None:
    fill(log, statement, range(10, 9 + most))
    with StoreReader(log) as reader:
        assert len(asked(reader)) == most
    fill(log, statement, range(9 + most, 10 + most))
    with StoreReader(log) as reader, pytest.raises(StoreError, match="than any pedal makes"):
        asked(reader)


def records(seen: list[int], points: str = "") -> Iterator[dict]:
    yield {"pedal_uid": None}
    yield dict(A_SESSION)
    for number in range(1, 2000):
        seen.append(number)
        yield ENTRY | {"number": number, "points": points}


def test_an_import_is_stopped_at_most_200_records_after_it_grew_too_large(log: Path) -> None:
    """Nothing is taken either way; but an export without an end must not fill the card before that is said."""
    seen: list[int] = []
    merge = sharing._Merge(log, Path("export"), restoring=False, most_bytes=0)
    with pytest.raises(StoreError, match="would make the log larger than the 0 MB of log.max_mb"):
        merge.run(records(seen))
    assert len(seen) == 199, "the session itself is the first of 200 records"
    with StoreReader(log) as reader:
        assert [session.entries for session in reader.sessions()] == [3]


def test_an_import_that_comes_to_the_very_bound_is_taken(log: Path, tmp_path: Path) -> None:
    export = tmp_path / "export.jsonl"
    with StoreReader(log) as reader:
        assert export_sessions(log, export, reader.sessions()) == (1, 3)
    grown = a_log(tmp_path / "grown.sqlite", [])
    assert import_sessions(export, grown) == (1, 3)
    with sqlite3.connect(grown) as file:
        used = thinning.used_bytes(file)
    with pytest.raises(StoreError, match="would make the log larger"):
        import_sessions(export, a_log(tmp_path / "other.sqlite", []), most_bytes=used - 1)
    assert import_sessions(export, tmp_path / "other.sqlite", most_bytes=used) == (1, 3)
    assert import_sessions(export, tmp_path / "other.sqlite", most_bytes=0) == (0, 0), "nothing new: no room is needed"


@pytest.mark.parametrize(("more", "fine"), [(0, True), (1, False)])
def test_a_line_of_an_export_has_400_000_bytes_at_most(log: Path, tmp_path: Path, more: int, fine: bool) -> None:
    line = b'{"undertoe_log": 1}'
    path = tmp_path / "export"
    path.write_bytes(line + b" " * (400_000 + more - len(line) - 1) + b"\n")
    if fine:
        assert import_sessions(path, log) == (0, 0)
    else:
        with pytest.raises(StoreError, match="line 1 is longer than 400000 bytes"):
            import_sessions(path, log)


@pytest.mark.parametrize(
    ("begun_s", "now_s", "doubtful"),
    [
        (NOW_S + DAY_S, NOW_S, 0), (NOW_S + DAY_S + 1, NOW_S, None), (RELEASE_S, NOW_S, 0), (RELEASE_S - 1, NOW_S, 1),
        (RELEASE_S + 10 * DAY_S, RELEASE_S, None), (RELEASE_S + 10 * DAY_S, RELEASE_S - 1, 1),
    ],
)  # fmt: skip
@pytest.mark.parametrize("shift_s", [0.0, 5.0])
def test_a_date_is_believed_from_the_release_to_a_day_ahead(
    shift_s: float, begun_s: float, now_s: float, doubtful: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.log.sharing.time.time", lambda: now_s)
    record = A_SESSION | {"begun_wall_s": begun_s - shift_s, "wall_shift_s": shift_s, "wall_doubtful": 0}
    if doubtful is None:
        with pytest.raises(sharing.NoExportError, match="lies ahead of this machine's clock"):
            sharing._Merge._doubtful(record)
    else:
        assert sharing._Merge._doubtful(record) == doubtful
        assert sharing._Merge._doubtful(record | {"wall_doubtful": 1}) == 1


def test_forgetting_says_how_much_went_and_nothing_where_nothing_was(log: Path) -> None:
    fill(log, "INSERT INTO session VALUES (?, ?, 'd', 1, '', 0, 0, 0)", range(10, 11))
    assert [forget_session(log, session) for session in (1, 1, 10, 99)] == [3, None, 0, None]


@pytest.mark.parametrize(
    ("rise_cents", "level", "gap_s", "kept"),
    [
        (3276.7, 127.0, 6.5535, (3276.7, 127.0, 6.5535)),
        (3300.0, 200.0, 9.0, (3276.7, 127.0, 6.5535)),
        (-3276.7, -128.0, 0.02, (-3276.7, -128.0, 0.02)),
        (-3300.0, -200.0, 0.02, (-3276.7, -128.0, 0.02)),
    ],
)
def test_what_a_trace_cannot_hold_is_kept_as_the_most_that_it_can(
    rise_cents: float, level: float, gap_s: float, kept: tuple[float, float, float]
) -> None:
    """16 bits of 0.1 cent, 8 bits of decibels, 16 bits of 0.1 ms."""
    hz = 440.0 * 2.0 ** (np.array([0.0, rise_cents]) / 1200)
    found = decode_trace(encode_trace(Trace(np.array([2.0, 2.0 + gap_s]), hz, np.array([0.0, level]))))
    assert found is not None
    assert (1200 * np.log2(found.hz[1] / 440.0), found.level_db[1], found.time_s[1] - 2.0) == pytest.approx(kept)


@pytest.mark.parametrize("unclean", [True, False])
def test_the_verdicts_are_looked_through_at_the_start_after_an_unclean_end_alone(
    tmp_path: Path, an_entry: Build, unclean: bool
) -> None:
    """After a clean one broken pages are found when they are next touched: a start takes no longer for them."""
    log = a_log(tmp_path / "log.sqlite", [an_entry(time_s=float(n), verdict=None) for n in range(3000)])
    running = open_store(log)
    running.append([an_entry(verdict=None)])
    pulled = tmp_path / "pulled" / "log.sqlite"
    pulled.parent.mkdir()
    for ending in ("", "-wal") if unclean else ("",):
        pulled.with_name(pulled.name + ending).write_bytes(log.with_name(log.name + ending).read_bytes())
    running.close()
    with pulled.open("r+b") as torn:
        torn.seek(4096 * (pulled.stat().st_size // 4096 // 2))  # among the notes, which are nearly all of it
        torn.write(b"\xff" * 4096)
    connection, remark = open_log(pulled)
    connection.close()
    assert ("was damaged" in remark) == unclean
