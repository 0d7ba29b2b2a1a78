"""What is appended comes back, in order, and says where it came from."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pedal.errors import StoreError
from pedal.log import StoreReader, open_store
from pedal.log.row import ENTRY_COLUMNS, VERDICT_COLUMNS
from pedal.modes.log_entry import LogEntry
from pedal.ports import Store
from pedal.verdicts.verdict import Verdict

Build = Callable[..., LogEntry]
cents = st.none() | st.floats(-400, 400)
seconds = st.none() | st.floats(0, 60)
names = st.none() | st.sampled_from(["Bb3", "G4", "F#2", "Cb4"])
entries = st.builds(
    LogEntry,
    time_s=st.floats(0, 1e5),
    mode=st.sampled_from(["watch", "curl", "ladder", "blind", "echo"]),
    key=st.sampled_from(["G minor pentatonic", "C# blues"]),
    verdict=st.none()
    | st.builds(
        Verdict,
        onset_s=st.floats(0, 1e5),
        end_s=st.floats(0, 60),
        rest_note=names,
        rest_cents=cents,
        degree=st.sampled_from([None, "1", "b3", "b7"]),
        shape=st.sampled_from(["level", "rise", "fall"]),
        kind=st.sampled_from(["curl", "bend", "unclear"]),
        target_note=names,
        target_degree=st.none(),
        bend_cents=cents,
        error_cents=cents,
        absolute_cents=cents,
        peak_cents=cents,
        overshoot_cents=cents,
        rise_s=seconds,
        hold_s=seconds,
        final_cents=cents,
        ending=st.sampled_from(["cut", "released"]),
        vibrato_hz=st.floats(0, 9),
        vibrato_cents=st.floats(0, 90),
        verdict=st.sampled_from(["true", "flat", "released"]),
        reason=st.text(max_size=20).map(lambda s: s.replace("\0", "")),
        rest_heard=st.booleans(),
        begun_by=st.sampled_from(["pluck", "hammer_on", "pull_off", "slide"]),
        vibrato_side=st.sampled_from([None, "both", "above", "below"]),
        vibrato_evenness=st.none() | st.floats(0, 1),
        trace=st.none(),
    ).map(lambda verdict: replace(verdict, end_s=verdict.onset_s + verdict.end_s)),
    position=st.none() | st.integers(1, 5),
    string=st.none() | st.integers(1, 6),
    fret=st.none() | st.integers(0, 24),
    target_note=names,
    skipped=st.booleans(),
    drone=st.booleans(),
    a4_hz=st.floats(430, 450),
    tuning=st.sampled_from(["E2 A2 D3 G3 B3 E4", "D2 A2 D3 G3 A3 D4"]),
    lick=st.none() | st.text(max_size=20).map(lambda s: s.replace("\0", "")),
    lick_pass=st.none() | st.integers(1, 99),
    lick_note=st.none() | st.integers(1, 24),
    lick_mark=st.sampled_from([None, "curled", "left out"]),
    beat_ms=st.none() | st.floats(-500, 500),
    chord=st.sampled_from([None, "C7", "Bbm"]),
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(batches=st.lists(st.lists(entries, max_size=4), max_size=4))
def test_any_entries_come_back_as_they_went_in(
    tmp_path_factory: pytest.TempPathFactory, batches: list[list[LogEntry]]
) -> None:
    path = tmp_path_factory.mktemp("log") / "log.sqlite"
    store = open_store(path)
    for batch in batches:
        store.append(batch)
    store.close()
    with StoreReader(path) as log:
        kept = [entry for session in log.sessions() for entry in log.entries(session.id)]
    assert kept == [entry for batch in batches for entry in batch]


def test_the_trace_comes_back_to_a_twentieth_of_a_cent(tmp_path: Path, an_entry: Build) -> None:
    written = an_entry()
    store = open_store(tmp_path / "log.sqlite")
    store.append([written])
    store.close()
    with StoreReader(tmp_path / "log.sqlite") as log:
        (kept,) = log.entries(1, with_traces=True)
    before, after = written.verdict.trace, kept.verdict.trace
    heard = np.interp(after.time_s, before.time_s, 1200 * np.log2(before.hz))
    assert len(after.time_s) > 130
    # 0.05 cent of rounding, and 0.05 ms of time on a rise of at most 1250 cents a second
    assert np.abs(1200 * np.log2(after.hz) - heard).max() < 0.05 + 0.0625


def test_each_opening_that_logs_is_a_session_with_its_own_number(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "log.sqlite"
    for count in (2, 0, 3):
        store = open_store(path, player="Ann")
        store.append([an_entry(time_s=float(t)) for t in range(count)])
        store.close()
    with StoreReader(path) as log:
        first, second = log.sessions()
    assert [first.counter, second.counter] == [1, 2]
    assert [first.entries, second.entries] == [2, 3]
    assert second.length_s == 2.0
    assert first.uid != second.uid
    assert first.pedal_uid == second.pedal_uid
    assert first.player == "Ann"


def test_every_field_of_a_verdict_has_a_column() -> None:
    kept = tuple(field for field in Verdict.__dataclass_fields__ if field != "trace")
    assert kept == VERDICT_COLUMNS, "a new field needs a new schema version, or a reason not to be kept"


def test_what_a_note_was_part_of_has_a_column_each() -> None:
    known_by_other_names = {"verdict", "target_note", "mode", "key", "drone", "a4_hz", "tuning", "player"}
    asked = {*ENTRY_COLUMNS} - {*VERDICT_COLUMNS, "session", "number", "setting", "asked_note"}
    assert {*LogEntry.__dataclass_fields__} - known_by_other_names == asked


def test_each_player_has_a_session_and_takes_it_up_again(tmp_path: Path, an_entry: Build) -> None:
    now_s = 0.0
    store = open_store(tmp_path / "log.sqlite", player="Ann", wall=lambda: 1.8e9 + now_s, monotonic=lambda: now_s)
    store.append([an_entry(), an_entry(player="Ben"), an_entry()])
    now_s = 600.0
    store.append([an_entry(player="Cleo"), an_entry(player="Ben", time_s=605.0), an_entry(player="Ann")])
    store.close()
    with StoreReader(tmp_path / "log.sqlite") as log:
        ann, ben, cleo = log.sessions()
    assert [(s.player, s.counter, s.entries) for s in (ann, ben, cleo)] == [
        ("Ann", 1, 3),
        ("Ben", 2, 2),
        ("Cleo", 3, 1),
    ]
    assert [s.begun_wall_s - 1.8e9 for s in (ann, ben, cleo)] == [0.0, 0.0, 600.0]
    assert ben.length_s == 602.0
    assert not cleo.wall_doubtful


def test_a_clock_that_jumped_is_told_to_every_player(tmp_path: Path, an_entry: Build) -> None:
    wall_s = 1.8e9
    store = open_store(tmp_path / "log.sqlite", player="Ann", wall=lambda: wall_s, monotonic=lambda: 0.0)
    store.append([an_entry(), an_entry(player="Ben")])
    wall_s += 3600.0
    store.append([an_entry(player="Ben")])
    store.append([an_entry(player="Cleo")])
    store.close()
    with StoreReader(tmp_path / "log.sqlite") as log:
        assert [(s.begun_wall_s - 1.8e9, s.wall_doubtful) for s in log.sessions()] == [(3600.0, True)] * 3


def test_numbers_of_the_array_library_are_kept_as_numbers(tmp_path: Path, an_entry: Build) -> None:
    store = open_store(tmp_path / "log.sqlite")
    store.append([an_entry(position=np.int64(3), time_s=np.float32(1.5), error_cents=np.float32(-2.5))])
    store.close()
    with StoreReader(tmp_path / "log.sqlite") as log:
        (kept,) = log.entries(1)
    assert (kept.position, kept.time_s, kept.verdict.error_cents) == (3, 1.5, -2.5)


def test_the_store_fits_the_port_and_closes_twice(tmp_path: Path, an_entry: Build) -> None:
    store: Store = open_store(tmp_path / "log.sqlite")
    store.close()
    store.close()
    with pytest.raises(StoreError, match="is closed"):
        store.append([an_entry()])


def test_two_programs_may_log_into_one_file(tmp_path: Path, an_entry: Build) -> None:
    one, two = open_store(tmp_path / "log.sqlite"), open_store(tmp_path / "log.sqlite")
    for _ in range(3):
        one.append([an_entry()])
        two.append([an_entry(), an_entry()])
    one.close()
    two.close()
    with StoreReader(tmp_path / "log.sqlite") as log:
        assert [session.entries for session in log.sessions()] == [3, 6]


def test_the_plain_view_can_be_read_by_anyone(tmp_path: Path, an_entry: Build) -> None:
    store = open_store(tmp_path / "log.sqlite")
    store.append([an_entry()])
    store.close()
    found = sqlite3.connect(tmp_path / "log.sqlite")
    assert found.execute("SELECT mode, key, rest_note, error_cents FROM log").fetchall() == [
        ("ladder", "G minor pentatonic", "F4", -21.75)
    ]
    found.close()


def test_what_append_has_returned_from_is_flushed_to_the_disk(tmp_path: Path) -> None:
    """SQLite's own words for it: write-ahead log, and a flush at every commit (2 is FULL)."""
    store = open_store(tmp_path / "log.sqlite")
    settings_found = [
        store._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")
    ]
    store.close()
    assert settings_found == ["wal", 2]
