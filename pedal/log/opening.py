"""A file name -> an open, sound, up-to-date log: created if missing, set aside if damaged, refused if not ours.

A file may be hostile: a connection is hardened by SQLite's own advice, "Defense Against The Dark Arts"
(sqlite.org/security.html): trusted_schema off, cell_size_check on, mmap_size 0, small limits, a progress handler
against statements without end. What the schema may hold is checked apart (`schema.py`), before anything in it is run.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import suppress
from pathlib import Path

from pedal.errors import StoreError
from pedal.log.faults import is_damage, store_error
from pedal.log.schema import ForeignFileError, NewerFileError, bring_up_to_date, version_of
from pedal.safe_files import private_file, private_folder

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


BUSY_S = 2.0
"""How long to wait for somebody else's transaction; ours take milliseconds."""

_OURS = {".sqlite", ".sqlite3", ".db"}


def open_log(path: Path) -> tuple[sqlite3.Connection, str]:
    """A connection to write with, and a sentence on what was unusual ("" if nothing).

    A missing folder or file is made. A damaged file is renamed and a fresh one begun. Raises `StoreError` for a file of
    a newer version, of another program, or that cannot be read or written.
    """
    try:
        private_folder(path.parent)
    except OSError as error:
        sentence = f"The log's folder {path.parent} cannot be made: {error.strerror}; name another file with --log."
        raise StoreError(sentence) from error
    _make_private(path)
    try:
        return _connect(path), ""
    except sqlite3.Error as error:
        if not is_damage(error):
            raise store_error(error, path) from error
        remark = set_aside(path, str(error))
    try:
        return _connect(path), remark
    except sqlite3.Error as error:
        raise store_error(error, path) from error


def open_sound_log(path: Path) -> sqlite3.Connection:
    """A connection to write with to a log that is there; raises `StoreError` where it is damaged, and leaves it so.

    For what is about the log that somebody knows, and not about any that can be written to.
    """
    try:
        return _connect(path)
    except sqlite3.Error as error:
        raise store_error(error, path) from error


def set_aside(path: Path, what: str) -> str:
    """Rename a damaged log with all that belongs to it, and say so in one sentence; raises `StoreError` if that fails.

    A file that is no SQLite at all is only touched if its name says it is a log: `--log song.wav` must not move a song.
    """
    if path.suffix not in _OURS:
        raise StoreError(f"{path} is no log of this pedal ({what}): name another file with --log.")
    aside = _free_name(path)
    try:
        for ending in ("-wal", "-shm", ""):
            piece = path.with_name(path.name + ending)
            if piece.exists():
                piece.rename(aside.with_name(aside.name + ending))
    except OSError as error:
        raise StoreError(f"The log {path} is damaged ({what}) and cannot be renamed: {error.strerror}.") from error
    return f"The log {path} was damaged ({what}): it is kept as {aside.name}, and a fresh one was begun."


def refuse_what_is_no_file(path: Path) -> None:
    """Raise `StoreError` for a pipe, a device or a folder: SQLite would hang on the one and say little of the other."""
    try:
        kind = path.stat().st_mode
    except OSError:
        return  # whoever opens it says what is wrong
    if not stat.S_ISREG(kind):
        raise StoreError(f"{path} is no file: name the file of a log.")


def _make_private(path: Path) -> None:
    """A new log is its owner's alone, whatever the umask; what is there already stays as it is."""
    refuse_what_is_no_file(path)
    with suppress(OSError):  # whoever opens it next says what is wrong
        os.close(private_file(path))


def _free_name(path: Path) -> Path:
    number = 1
    while (aside := path.with_name(f"{path.stem}.damaged-{number}{path.suffix}")).exists():
        number += 1
    return aside


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
    try:
        harden(connection)
        # Before anything is written: WAL changes the header of a file that may not be ours.
        if version_of(connection):
            _check(connection, path)
        # WAL: one flush a batch instead of four, and readers never wait. FULL: the flush happens at every commit, so
        # that a power cut takes only what was not yet handed over (NORMAL would flush only once in 1000 pages).
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA journal_size_limit = 4194304")
        connection.execute("PRAGMA foreign_keys = ON")
        bring_up_to_date(connection)
    except NewerFileError as newer:
        connection.close()
        raise StoreError(
            f"The log {path} was written by a newer Undertoe (file version {newer.version}): update this one, "
            "or name another file with --log."
        ) from newer
    except ForeignFileError as foreign:
        connection.close()
        raise StoreError(f"{path} {foreign.what}: name another file with --log.") from foreign
    except BaseException:
        connection.close()
        raise
    return connection


def _check(connection: sqlite3.Connection, path: Path) -> None:
    """After an unclean end (the usual one: a pedal is unplugged) the verdicts are looked through once.

    Traces, most of the file, are left out, so that starting takes a second rather than half a minute on a slow card: a
    broken page among them is found when it is next touched. Raises sqlite3.DatabaseError where something is broken.
    """
    left_open = path.with_name(path.name + "-wal")
    unclean = left_open.exists() and left_open.stat().st_size > 0
    for table in ("session", "entry") if unclean else ():
        found = connection.execute(f"PRAGMA quick_check({table})").fetchone()[0]
        if found != "ok":
            broken = sqlite3.DatabaseError(found)
            broken.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
            raise broken
