"""The plug is pulled while the pedal logs: the file stays sound, and nothing that was kept is lost."""

from __future__ import annotations

import os
import select
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pedal.log import StoreReader, open_store

WRITER = """
import os, sys
import numpy as np
from pedal.log import open_store
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.verdicts.verdict import Verdict

time_s = np.arange(560) * 128 / 48000
noise = np.random.default_rng(int(sys.argv[3]))
number = int(sys.argv[2])
store = open_store(sys.argv[1])
while True:
    batch = []
    for _ in range(int(noise.integers(1, 6))):
        number += 1
        trace = Trace(time_s.copy(), 350 * 2 ** (noise.normal(0, 30, 560).cumsum() / 12000), time_s * -10)
        verdict = Verdict(1.0, 2.0, "F4", 0.0, "b7", "rise", "bend", "G4", "1", 180.0, -20.0, -20.0, 180.0, 0.0, 0.3,
                          0.5, 180.0, "cut", 0.0, 0.0, "near", "invented", trace=trace)
        batch.append(LogEntry(float(number), "watch", "G minor pentatonic", verdict))
    store.append(batch)
    os.write(1, f"{number}\\n".encode())
"""


def play_until_killed(path: Path, first: int, seed: int, after_s: float) -> int:
    """The last number whose batch was reported kept before SIGKILL came, `after_s` after the first report."""
    writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(first), str(seed)], stdout=subprocess.PIPE)
    assert writer.stdout is not None
    assert select.select([writer.stdout], [], [], 60)[0], "the writer never kept anything"
    # Not for synchronising: the kill is to fall anywhere within a batch.
    select.select([], [], [], after_s)
    os.kill(writer.pid, signal.SIGKILL)
    said, _ = writer.communicate()
    return int(said.decode().rpartition("\n")[0].split("\n")[-1])


def kill_many(path: Path, kills: int) -> tuple[int, int, int]:
    """(rows kept, rows reported kept but missing, unsound files) over so many kills of one growing log."""
    delays = np.random.default_rng(20).uniform(0, 0.12, kills)
    number, lost, unsound, spans = 0, 0, 0, []
    for kill, after_s in enumerate(delays):
        number += 100_000
        spans.append((number + 1, play_until_killed(path, number, kill, float(after_s))))
        file = sqlite3.connect(path)
        unsound += file.execute("PRAGMA integrity_check").fetchall() != [("ok",)]
        unsound += file.execute("PRAGMA foreign_key_check").fetchall() != []
        file.close()
    with StoreReader(path) as log:
        there = [int(entry.time_s) for session in log.sessions() for entry in log.entries(session.id, with_traces=True)]
    assert there == sorted(set(there)), "an entry came twice or out of order"
    for first, last in spans:
        lost += len(set(range(first, last + 1)) - set(there))
    return len(there), lost, unsound


def test_ten_kills_leave_a_sound_file_and_lose_no_row(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    rows, lost, unsound = kill_many(path, 10)
    assert (lost, unsound) == (0, 0)
    assert rows > 10
    store = open_store(path)
    assert store.remark == ""
    store.close()


@pytest.mark.soak
def test_two_hundred_and_fifty_kills(tmp_path: Path) -> None:
    rows, lost, unsound = kill_many(tmp_path / "log.sqlite", 250)
    print(f"250 kills: {rows} rows kept, {lost} lost, {unsound} unsound files")
    assert (lost, unsound) == (0, 0)
    assert rows > 250
