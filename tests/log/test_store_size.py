"""The log stays below its bound by letting the oldest traces go, then the oldest sentences, and never a verdict."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from pedal.log import StoreReader, open_store
from pedal.log.thinning import used_bytes
from pedal.log.trace_blob import TraceBlobError, decode_trace, encode_trace
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace

Build = Callable[..., LogEntry]
BOUND = 400_000


def fill(path: Path, entry: LogEntry, batches: int, *, most_bytes: int = BOUND) -> None:
    store = open_store(path, most_bytes=most_bytes)
    for _ in range(batches):
        store.append([entry] * 10)
    store.close()


def test_the_oldest_traces_go_and_every_verdict_stays(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "log.sqlite"
    for _ in range(5):
        fill(path, an_entry(), 65, most_bytes=1_200_000)
    with StoreReader(path) as log:
        assert [session.entries for session in log.sessions()] == [650] * 5
        traced = [e.verdict.trace is not None for s in log.sessions() for e in log.entries(s.id, with_traces=True)]
    assert 0 < sum(traced) < len(traced)
    assert traced == sorted(traced), "what is kept are the newest"


def test_used_pages_stay_below_the_bound_while_there_are_traces(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "log.sqlite"
    fill(path, an_entry(reason=""), 65)
    store = open_store(path, most_bytes=BOUND)
    store.append([an_entry(reason="")])
    assert used_bytes(store._connection) <= BOUND
    store.close()


def test_an_hour_of_practice_takes_well_under_a_megabyte(tmp_path: Path, an_entry: Build) -> None:
    """The figures behind docs/log.md: bytes a note with its trace, and without."""
    path, notes = tmp_path / "log.sqlite", 1000
    with_trace, without = (
        size_of(tmp_path / name, an_entry, notes, trace) for name, trace in (("a.sqlite", True), ("b.sqlite", False))
    )
    print(f"{with_trace / notes:.0f} bytes a note with its trace, {without / notes:.0f} without")
    assert with_trace / notes < 800
    assert without / notes < 330
    assert not path.exists()


def size_of(path: Path, an_entry: Build, notes: int, trace: bool) -> int:
    noise = np.random.default_rng(5)
    store = open_store(path)
    for n in range(notes):
        entry = an_entry(
            time_s=2.0 * n, error_cents=float(noise.normal(0, 20)), bend_cents=float(noise.normal(180, 20))
        )
        if not trace:
            entry = an_entry(trace=None)
        else:
            heard = entry.verdict.trace
            entry = an_entry(
                trace=Trace(heard.time_s, heard.hz * 2 ** (noise.normal(0, 1.5, len(heard.hz)) / 1200), heard.level_db)
            )
        store.append([entry])
    used = used_bytes(store._connection)
    store.close()
    return used


@pytest.mark.parametrize("blob", [b"\x01", b"\x02" + bytes(40), b"\x01" + bytes(20) + b"no deflate stream"])
def test_bytes_that_are_no_trace_are_refused(blob: bytes) -> None:
    with pytest.raises(TraceBlobError, match="trace"):
        decode_trace(blob)


def test_an_empty_trace_is_no_bytes() -> None:
    nothing = np.zeros(0)
    assert encode_trace(Trace(nothing.copy(), nothing.copy(), nothing.copy())) == b""
    assert decode_trace(b"") is None
