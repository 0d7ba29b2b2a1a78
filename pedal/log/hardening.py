"""A connection that may look at a hostile file: what SQLite's own advice says to switch off and to bound.

Source: "Defense Against The Dark Arts" (sqlite.org/security.html): trusted_schema off, cell_size_check on, mmap_size 0,
small limits, a progress handler against statements without an end. What the schema itself may hold is checked apart
(`schema.py`), before anything in it is run.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

_STEP = 1_000_000
_LEAST_STEPS, _BYTES_A_STEP = 400, 50_000
"""Reading a million notes with every check takes 1,600 of 5,600 steps that its 270 MB allow."""

_LIMITS = {
    sqlite3.SQLITE_LIMIT_LENGTH: 4_000_000,
    sqlite3.SQLITE_LIMIT_SQL_LENGTH: 100_000,
    sqlite3.SQLITE_LIMIT_COLUMN: 200,
    sqlite3.SQLITE_LIMIT_EXPR_DEPTH: 200,
    sqlite3.SQLITE_LIMIT_COMPOUND_SELECT: 5,
    sqlite3.SQLITE_LIMIT_FUNCTION_ARG: 20,
    sqlite3.SQLITE_LIMIT_ATTACHED: 0,
    sqlite3.SQLITE_LIMIT_TRIGGER_DEPTH: 5,
}


def harden(connection: sqlite3.Connection) -> None:
    """Switch off what a file could use against its reader, before anything in it is run."""
    for category, most in _LIMITS.items():
        connection.setlimit(category, most)
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("PRAGMA mmap_size = 0")


class StepLimit:
    """Interrupts a statement that takes more steps than a file of its size can need; `.begin()` before each."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._most = _LEAST_STEPS + path.stat().st_size // _BYTES_A_STEP
        self._taken = 0
        connection.set_progress_handler(self._step, _STEP)

    def begin(self) -> None:
        """A new statement."""
        self._taken = 0

    def _step(self) -> int:
        self._taken += 1
        return int(self._taken > self._most)
