"""The log's file -> sessions and entries, without writing to it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from pedal.app.errors import StoreError
from pedal.app.store.faults import store_error
from pedal.app.store.opening import BUSY_S
from pedal.app.store.row import READ_COLUMNS, entry_of
from pedal.app.store.schema import VERSION, ForeignFileError, NewerFileError, bring_up_to_date, version_of
from pedal.app.store.trace_blob import decode_trace
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace

_SESSIONS = """
    SELECT session.*, count(entry.number) AS entries, coalesce(max(entry.time_s) - min(entry.time_s), 0) AS length_s
    FROM session LEFT JOIN entry ON entry.session = session.id GROUP BY session.id ORDER BY session.id
"""
_ENTRIES = f"""
    SELECT {", ".join(READ_COLUMNS)} FROM entry JOIN setting ON setting.id = entry.setting
    WHERE entry.session = ? ORDER BY entry.number
"""  # noqa: S608 (constants)
_RAW_ENTRIES = """
    SELECT entry.*, setting.*, trace.points FROM entry JOIN setting ON setting.id = entry.setting
    LEFT JOIN trace ON trace.session = entry.session AND trace.number = entry.number
    WHERE entry.session = ? ORDER BY entry.number
"""


@dataclass(frozen=True, slots=True)
class Session:
    """One sitting. `id` counts arrivals in this file, `counter` those on its pedal; `uid` is the same everywhere.

    begun_wall_s : best guess of its begin, seconds since 1970; `wall_doubtful` where the clock was unset or jumped.
    length_s : from the first entry to the last, by time that never jumps.
    """

    id: int
    uid: str
    pedal_uid: str
    counter: int
    player: str
    begun_wall_s: float
    wall_doubtful: bool
    entries: int
    length_s: float


class StoreReader:
    """An open log to look at; `with StoreReader(path) as log:` closes it."""

    def __init__(self, path: Path | str) -> None:
        self._path = Path(path)
        self._connection = _open_to_read(self._path)
        self._connection.row_factory = sqlite3.Row

    def __enter__(self) -> StoreReader:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def sessions(self) -> list[Session]:
        """All sessions in order of arrival in this file."""
        return [_session_of(row) for row in self._rows(_SESSIONS)]

    def entries(self, session: int, *, with_traces: bool = False) -> Iterator[LogEntry]:
        """The entries of a session (its `id`), in order; pitch traces only where asked for."""
        for number, entry in self.numbered(session):
            if with_traces and entry.verdict is not None:
                yield replace(entry, verdict=replace(entry.verdict, trace=self.trace(session, number)))
            else:
                yield entry

    def numbered(self, session: int) -> Iterator[tuple[int, LogEntry]]:
        """The entries of a session with their numbers in it, without traces."""
        for row in self._rows(_ENTRIES, session):
            yield row[0], entry_of(tuple(row))

    def trace(self, session: int, number: int) -> Trace | None:
        """The pitch trace of an entry; None if it has none, or none any more."""
        row = next(self._rows("SELECT points FROM trace WHERE session = ? AND number = ?", session, number), None)
        return None if row is None else decode_trace(row[0])

    def raw_session(self, session: int) -> sqlite3.Row:
        """The row of a session as the file holds it."""
        return next(self._rows("SELECT * FROM session WHERE id = ?", session))

    def raw_entries(self, session: int) -> Iterator[sqlite3.Row]:
        """The rows of a session's entries, settings and packed traces beside them, in order."""
        return self._rows(_RAW_ENTRIES, session)

    def _rows(self, query: str, *values: int) -> Iterator[sqlite3.Row]:
        try:
            yield from self._connection.execute(query, values)
        except sqlite3.Error as error:
            raise store_error(error, self._path) from error


def _open_to_read(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise StoreError(f"There is no log at {path} yet: play with `undertoe live`, or name another file with --log.")
    try:
        return _up_to_date(_connect_to_read(path))
    except sqlite3.Error as error:
        raise store_error(error, path) from error
    except NewerFileError as newer:
        sentence = f"The log {path} was written by a newer Undertoe (file version {newer.version}): update this one."
        raise StoreError(sentence) from newer
    except ForeignFileError as foreign:
        raise StoreError(f"{path} belongs to another program: name a log with --log.") from foreign


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """Read-only; a WAL file in a folder that may not be written opens only as one that nobody writes to."""
    address = path.resolve().as_uri()
    for how in ("?mode=ro", "?mode=ro&immutable=1"):
        connection = sqlite3.connect(address + how, uri=True, timeout=BUSY_S, isolation_level=None)
        try:
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except sqlite3.DatabaseError as error:
            connection.close()
            fault = error
        else:
            return connection
    raise fault


def _up_to_date(connection: sqlite3.Connection) -> sqlite3.Connection:
    """The same, or an older log brought up to date in memory: looking at it changes nothing. One refused is closed."""
    try:
        if version_of(connection) == VERSION:
            return connection
        copy = sqlite3.connect(":memory:", isolation_level=None)
        connection.backup(copy)
    except BaseException:
        connection.close()
        raise
    connection.close()
    try:
        bring_up_to_date(copy)
    except BaseException:
        copy.close()
        raise
    return copy


def _session_of(row: sqlite3.Row) -> Session:
    return Session(
        id=row["id"], uid=row["uid"], pedal_uid=row["pedal_uid"], counter=row["counter"], player=row["player"],
        begun_wall_s=row["begun_wall_s"] + row["wall_shift_s"], wall_doubtful=bool(row["wall_doubtful"]),
        entries=row["entries"], length_s=row["length_s"],
    )  # fmt: skip
