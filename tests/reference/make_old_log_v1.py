"""Writes old_log_v1.sqlite: a log as version 1 of the schema kept it (invented data); here to show how it was made.

Version 1 wrote mode, key, drone, A4 and tuning into every row, and a session knew neither its pedal nor its player.
"""

from __future__ import annotations

import sqlite3
import sys
from pathlib import Path

import numpy as np

from pedal.log.trace_blob import encode_trace
from pedal.notes.note import Trace

VERSION_1 = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE session (
    id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE, begun_wall_s REAL NOT NULL, wall_doubtful INTEGER NOT NULL
) STRICT;
CREATE TABLE entry (
    session INTEGER NOT NULL REFERENCES session (id) ON DELETE CASCADE, number INTEGER NOT NULL,
    mode TEXT NOT NULL, key TEXT NOT NULL, drone INTEGER NOT NULL, a4_hz REAL NOT NULL, tuning TEXT NOT NULL,
    time_s REAL NOT NULL, position INTEGER, string INTEGER, fret INTEGER, asked_note TEXT, skipped INTEGER NOT NULL,
    onset_s REAL, end_s REAL, rest_note TEXT, rest_cents REAL, degree TEXT, shape TEXT, kind TEXT, target_note TEXT,
    target_degree TEXT, bend_cents REAL, error_cents REAL, absolute_cents REAL, peak_cents REAL, overshoot_cents REAL,
    rise_s REAL, hold_s REAL, final_cents REAL, ending TEXT, vibrato_hz REAL, vibrato_cents REAL, verdict TEXT,
    reason TEXT, PRIMARY KEY (session, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE trace (
    session INTEGER NOT NULL, number INTEGER NOT NULL, points BLOB NOT NULL,
    PRIMARY KEY (session, number), FOREIGN KEY (session, number) REFERENCES entry (session, number) ON DELETE CASCADE
) STRICT;
PRAGMA application_id = 1433694053;
PRAGMA user_version = 1;
"""
SESSIONS = [(1, "5e" * 16, 1_780_000_000.0, 0), (2, "a7" * 16, 0.0, 1)]
SETTINGS = [
    ("curl", "G minor pentatonic", 0, 440.0, "E2 A2 D3 G3 B3 E4"),
    ("blind", "A blues", 1, 442.0, "E2 A2 D3 G3 B3 E4"),
]


def entry(session: int, number: int) -> tuple[object, ...]:
    """One row; every third is a skipped one without a verdict."""
    row = (session, number, *SETTINGS[number % 2], 2.0 * number, 1, 3, 3, "C4", int(number % 3 == 0))
    if number % 3 == 0:
        return (*row, *[None] * 22)
    error = -20.0 + number
    judged = (
        2.0 * number,
        2.0 * number + 1.2,
        "Bb3",
        1.5,
        "b3",
        "rise",
        "bend",
        "C4",
        "4",
        200 + error,
        error,
        error + 1.5,
    )
    return (*row, *judged, 201 + error, 1.0, 0.3, 0.7, 199 + error, "cut_sharp", 0.0, 0.0, "near", "Invented.")


def trace(number: int) -> bytes:
    """A rise by ten times `number` cents over half a second."""
    time_s = 2.0 * number + np.arange(50) * 0.01
    return encode_trace(Trace(time_s, 233.082 * 2 ** (np.linspace(0, 10 * number, 50) / 1200), np.full(50, -20.0)))


def make(path: Path) -> None:
    """Write the file anew."""
    path.unlink(missing_ok=True)
    file = sqlite3.connect(path)
    file.executescript(VERSION_1)
    file.execute("INSERT INTO about VALUES ('pedal_uid', ?)", ("0123456789abcdef" * 2,))
    file.executemany("INSERT INTO session VALUES (?, ?, ?, ?)", SESSIONS)
    for session, _, _, _ in SESSIONS:
        for number in range(1, 9):
            row = entry(session, number)
            file.execute(f"INSERT INTO entry VALUES ({', '.join('?' * len(row))})", row)
            if number % 3:
                file.execute("INSERT INTO trace VALUES (?, ?, ?)", (session, number, trace(number)))
    file.commit()
    file.close()


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("old_log_v1.sqlite"))
