"""What SQLite complains of, as one sentence for the player."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from pedal.errors import StoreError

_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_CAUSES = {
    sqlite3.SQLITE_FULL: "the disk is full: make room; logging goes on by itself once there is",
    sqlite3.SQLITE_BUSY: "another program holds it: close that one, or name another file with --log",
    sqlite3.SQLITE_LOCKED: "another program holds it: close that one, or name another file with --log",
    sqlite3.SQLITE_READONLY: "it may not be written: give this user write permission, or name another file with --log",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened: look at its folder's permissions, or name another file with --log",
    sqlite3.SQLITE_PERM: "it may not be written: give this user write permission, or name another file with --log",
    sqlite3.SQLITE_IOERR: "the disk does not answer as it should: make room on it, or look whether it is failing",
}


def is_damage(error: sqlite3.Error) -> bool:
    """Whether the file itself is broken, rather than out of reach."""
    return _primary_code(error) in _DAMAGE


def store_error(error: sqlite3.Error, path: Path) -> StoreError:
    """The sentence of a fault: what, where, what to do."""
    cause = _CAUSES.get(_primary_code(error), f"{error}: name another file with --log")
    return StoreError(f"The log {path} cannot be used: {cause}.")


def _primary_code(error: sqlite3.Error) -> int:
    """The low byte of SQLite's extended code; -1 where Python raised it itself."""
    code = getattr(error, "sqlite_errorcode", None)
    return -1 if code is None else int(code) & 0xFF
