"""A power cut in the middle of a write: whatever part of it reached the card, the log is a sound beginning."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.log import StoreReader, open_store
from pedal.modes.log_entry import LogEntry

Build = Callable[..., LogEntry]
BATCHES = 12


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the log as it lies on the card while a session runs: main file and write-ahead file."""
    folder = tmp_path_factory.mktemp("running")
    store = open_store(folder / "live.sqlite")
    for batch in range(BATCHES):
        store.append(
            [LogEntry(float(2 * batch + n), "watch", "G minor pentatonic", None, skipped=True) for n in (0, 1)]
        )
    for name in ("live.sqlite", "live.sqlite-wal"):
        shutil.copy(folder / name, folder / name.replace("live", "card"))
    store.close()
    return folder


def opened_after_cut(running: Path, folder: Path, wal: bytes) -> list[float]:
    """Times of what is in the log once the pedal has power again; the pedal logs one entry more on it."""
    shutil.copy(running / "card.sqlite", folder / "log.sqlite")
    (folder / "log.sqlite-wal").write_bytes(wal)
    store = open_store(folder / "log.sqlite")
    assert store.remark == ""
    store.append([LogEntry(99.0, "watch", "G minor pentatonic", None, skipped=True)])
    store.close()
    file = sqlite3.connect(folder / "log.sqlite")
    assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    file.close()
    with StoreReader(folder / "log.sqlite") as log:
        return [entry.time_s for session in log.sessions() for entry in log.entries(session.id)]


@settings(max_examples=40, deadline=None)
@given(share=st.floats(0, 1))
def test_a_write_ahead_file_cut_anywhere(running: Path, tmp_path_factory: pytest.TempPathFactory, share: float) -> None:
    wal = (running / "card.sqlite-wal").read_bytes()
    there = opened_after_cut(running, tmp_path_factory.mktemp("cut"), wal[: int(share * len(wal))])
    assert there[-1] == 99.0
    assert there[:-1] == [float(n) for n in range(len(there) - 1)], "whole batches from the first on, nothing between"
    assert len(there) % 2 == 1
    if share == 1:
        assert len(there) == 2 * BATCHES + 1


@settings(max_examples=40, deadline=None)
@given(share=st.floats(0, 0.999), bit=st.integers(0, 7))
def test_a_write_ahead_file_with_a_wrong_bit(
    running: Path, tmp_path_factory: pytest.TempPathFactory, share: float, bit: int
) -> None:
    wal = bytearray((running / "card.sqlite-wal").read_bytes())
    wal[int(share * len(wal))] ^= 1 << bit
    there = opened_after_cut(running, tmp_path_factory.mktemp("bit"), bytes(wal))
    assert there[:-1] == [float(n) for n in range(len(there) - 1)]
