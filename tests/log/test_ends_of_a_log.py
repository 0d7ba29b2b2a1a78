"""The codec of traces, whole columns, clocks, faults and sums of a log: at their ends and just beyond."""

from __future__ import annotations

import sqlite3
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.errors import StoreError
from pedal.log import StoreReader, open_store
from pedal.log.bounds import AROUND, ASKED, JUDGED, SESSION, SETTING, Range, UnsoundError
from pedal.log.faults import is_damage, store_error
from pedal.log.thinning import keep_below, used_bytes
from pedal.log.trace_blob import TraceBlobError, decode_trace, encode_trace
from pedal.log.wall_clock import WallClock
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace

Build = Callable[..., LogEntry]
HEAD = struct.Struct("<BddI")
WHOLE = {
    name: rule
    for name, rule in (SESSION | SETTING | ASKED | AROUND | JUDGED).items()
    if isinstance(rule, Range) and isinstance(rule.least, int)
}


@given(
    gaps=st.lists(st.floats(0.012, 2.0), max_size=40),
    cents=st.lists(st.floats(-3200, 3200), min_size=41, max_size=41),
    levels=st.lists(st.floats(-127, 0), min_size=41, max_size=41),
    begins_s=st.floats(0, 1e5),
    first_hz=st.floats(30, 1500),
)
def test_a_trace_comes_back_with_time_pitch_and_level(
    gaps: list[float], cents: list[float], levels: list[float], begins_s: float, first_hz: float
) -> None:
    """To 0.05 ms (and what a double holds of the time), 0.05 cent and half a decibel, as the codec says."""
    time_s = begins_s + np.concatenate([[0.0], np.cumsum(gaps)])
    rise = np.array([0.0, *cents[1:]])[: len(time_s)]
    level_db = np.array(levels[: len(time_s)])
    blob = encode_trace(Trace(time_s, first_hz * 2 ** (rise / 1200), level_db))
    again = decode_trace(blob)
    assert again is not None
    assert len(again.time_s) == len(time_s)
    assert np.abs(again.time_s - time_s).max() <= 0.5e-4 + 1e-9
    assert np.abs(1200 * np.log2(again.hz / first_hz) - rise).max() <= 0.05 + 1e-6
    assert np.abs(again.level_db - level_db).max() <= 0.5
    assert encode_trace(again)[: HEAD.size] == blob[: HEAD.size]


@pytest.mark.parametrize(
    ("gap_s", "kept"),
    [(0.0101, [0, 1, 2, 3, 4]), (0.0091, [0, 1, 3, 4]), (0.005, [0, 2, 4]), (0.00268, [0, 4]), (0.002, [0])],
)
def test_a_reading_is_kept_each_ten_milliseconds_and_the_first_always(gap_s: float, kept: list[int]) -> None:
    found = decode_trace(encode_trace(Trace(5.0 + gap_s * np.arange(5), 440.0 + np.arange(5.0), np.zeros(5))))
    assert found is not None
    assert np.round(found.hz - 440.0).astype(int).tolist() == kept
    assert found.time_s == pytest.approx(5.0 + gap_s * np.array(kept), abs=0.5e-4)


def blob_of(*, layout: int = 1, start_s: float = 0.0, first_hz: float = 440.0, count: int = 1, rows: int = 5) -> bytes:
    return HEAD.pack(layout, start_s, first_hz, count) + zlib.compress(bytes(rows * count))


@pytest.mark.parametrize(
    "how",
    [
        {}, {"start_s": 1e9}, {"start_s": -1e9}, {"first_hz": 1.0}, {"first_hz": 100_000.0}, {"count": 36_000},
    ],
    ids=str,
)  # fmt: skip
def test_a_trace_at_the_end_of_a_range_is_read(how: dict) -> None:
    found = decode_trace(blob_of(**how))
    assert found is not None
    assert len(found.hz) == how.get("count", 1)
    assert found.hz[0] == pytest.approx(how.get("first_hz", 440.0))
    assert found.time_s[0] == how.get("start_s", 0.0)


@pytest.mark.parametrize(
    "blob",
    [
        blob_of(start_s=1.001e9), blob_of(start_s=-1.001e9), blob_of(start_s=float("nan")), blob_of(first_hz=0.99),
        blob_of(first_hz=100_001.0), blob_of(first_hz=float("inf")), blob_of(count=36_001), blob_of(count=0),
        blob_of(layout=0), blob_of(layout=2), blob_of(rows=4), blob_of(rows=6), blob_of() + b"x", blob_of()[:-1],
        blob_of()[:20],
    ],
)  # fmt: skip
def test_a_trace_beyond_its_ranges_is_refused(blob: bytes) -> None:
    with pytest.raises(TraceBlobError, match=r"pitch trace"):
        decode_trace(blob)


@pytest.mark.parametrize("name", WHOLE)
def test_a_column_of_whole_numbers_takes_no_fraction(name: str) -> None:
    rule = WHOLE[name]
    assert rule.whole
    for value in (rule.least + 0.5, float(rule.least)):
        with pytest.raises(UnsoundError, match=name):
            rule.check(name, value)
    with sqlite3.connect(":memory:") as file:
        taken = [
            file.execute(f"SELECT {rule.sql('v')} FROM (SELECT ? AS v)", (value,)).fetchone()[0]
            for value in (rule.least, rule.most, rule.least + 0.5, rule.least - 1, rule.most + 1)
        ]
    assert taken == [1, 1, 0, 0, 0]


@pytest.mark.parametrize(("moved_s", "told"), [(1.9, 0.0), (2.0, 2.0), (-1.9, 0.0), (-2.0, -2.0), (3600.0, 3600.0)])
def test_a_clock_has_jumped_when_it_moved_two_seconds_from_what_is_known(moved_s: float, told: float) -> None:
    now = {"wall": 2_000_000_000.0, "running": 50.0}
    clock = WallClock(lambda: now["wall"], lambda: now["running"])
    now = {"wall": 2_000_000_100.0 + moved_s, "running": 150.0}
    assert clock.jump_s(0.0) == pytest.approx(told)
    assert clock.jump_s(moved_s + 1.9) == moved_s + 1.9
    assert clock.jump_s(moved_s - 2.1) == pytest.approx(moved_s)
    assert clock.later_s() == 2_000_000_100.0


@pytest.mark.parametrize(
    ("begun_s", "latest_s", "doubtful"),
    [
        (1_750_000_000.0, None, False), (1_749_999_999.0, None, True), (1_760_000_000.0, 1_760_000_000.0, False),
        (1_760_000_000.0, 1_760_000_001.0, True), (1_740_000_000.0, 1_730_000_000.0, True),
    ],
)  # fmt: skip
def test_a_begin_is_doubted_before_the_release_and_before_an_earlier_session(begun_s, latest_s, doubtful) -> None:
    assert WallClock(lambda: begun_s, lambda: 0.0).doubtful_after(latest_s) == doubtful


@pytest.mark.parametrize(
    ("code", "words", "damage"),
    [
        (sqlite3.SQLITE_FULL, "the disk is full: make room", False),
        (sqlite3.SQLITE_BUSY, "another program holds it", False),
        (sqlite3.SQLITE_LOCKED, "another program holds it", False),
        (sqlite3.SQLITE_READONLY, "it may not be written", False),
        (sqlite3.SQLITE_PERM, "it may not be written", False),
        (sqlite3.SQLITE_CANTOPEN, "it cannot be opened", False),
        (sqlite3.SQLITE_IOERR, "the disk does not answer", False),
        (sqlite3.SQLITE_CORRUPT, "some words: name another file with --log", True),
        (sqlite3.SQLITE_NOTADB, "some words: name another file with --log", True),
        (None, "some words: name another file with --log", False),
    ],
)
@pytest.mark.parametrize("extended", [0, 3 << 8])
def test_each_of_sqlites_codes_has_its_sentence(code: int | None, words: str, damage: bool, extended: int) -> None:
    """The low byte tells; what stands above it tells more closely (sqlite.org, "Result and Error Codes")."""
    fault = sqlite3.OperationalError("some words")
    if code is not None:
        fault.sqlite_errorcode = code | extended
    assert is_damage(fault) == damage
    told = store_error(fault, Path("kept.sqlite"))
    assert isinstance(told, StoreError)
    assert str(told).startswith(f"The log kept.sqlite cannot be used: {words}")


def test_rows_of_licks_are_counted_by_note_and_mark(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "log.sqlite"
    store = open_store(path)
    store.append(
        [
            an_entry(lick="3 blue", lick_pass=number, lick_note=note, lick_mark=mark)
            for number, note, mark in ((1, 1, "plain"), (1, 2, "curled"), (2, 1, "plain"), (7, 1, "missed"))
        ]
        + [an_entry(lick="3 blue", lick_note=2, lick_mark="left out", lick_pass=None, verdict=None), an_entry()]
    )
    store.close()
    with StoreReader(path) as log:
        rows = log.lick_rows(1)
    assert sorted(rows, key=str) == sorted(
        [
            ("3 blue", 1, "missed", "F4", 1, 7),
            ("3 blue", 1, "plain", "F4", 2, 2),
            ("3 blue", 2, "curled", "F4", 1, 1),
            ("3 blue", 2, "left out", None, 1, 0),
        ],
        key=str,
    )


def test_thinning_begins_above_the_bound_and_ends_a_little_below(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "log.sqlite"
    store = open_store(path)
    for _ in range(40):
        store.append([an_entry()] * 50)
    store.close()
    with sqlite3.connect(path) as file:
        count = file.execute("SELECT count(*) FROM trace").fetchone()[0]
        used = used_bytes(file)
        keep_below(file, used)
        assert file.execute("SELECT count(*) FROM trace").fetchone()[0] == count == 2000
        keep_below(file, used - 1)
        left = file.execute("SELECT count(*) FROM trace").fetchone()[0]
        assert left == 1500
        assert used_bytes(file) <= 0.97 * (used - 1)
        reasons = "SELECT count(*) FROM entry WHERE reason IS NOT NULL"
        assert file.execute(reasons).fetchone()[0] == 2000
