"""The log's file -> sessions and entries, without writing to it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pedal.errors import StoreError
from pedal.log.bounds import UnsoundError, check_session, sound_entry_sql, sound_setting_sql
from pedal.log.faults import store_error
from pedal.log.opening import BUSY_S, StepLimit, harden, refuse_what_is_no_file
from pedal.log.row import READ_COLUMNS, entry_of
from pedal.log.schema import (
    VERSION,
    ForeignFileError,
    NewerFileError,
    bring_up_to_date,
    look_at_version_2_as_3,
    version_of,
)
from pedal.log.trace_blob import TraceBlobError, decode_trace
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.progress.lick_figures import LickRow
from pedal.progress.tries import Row
from pedal.safe_text import clean
from pedal.values import frozen

_WANTED = "(SELECT value FROM json_each(:wanted))"
_SESSIONS = f"SELECT * FROM session WHERE id IN {_WANTED} ORDER BY id"  # noqa: S608 (constants)
_COUNTS = f"SELECT session, count(*) FROM entry WHERE session IN {_WANTED} GROUP BY session"  # noqa: S608 (constants)
_SOUND = sound_entry_sql()
_SPANS = f"""
    SELECT session, count(*), max(time_s) - min(time_s) FROM entry
    WHERE session IN {_WANTED} AND {_SOUND} GROUP BY session
"""  # noqa: S608 (constants)
_ENTRIES = f"""
    SELECT {", ".join(READ_COLUMNS)} FROM entry JOIN setting ON setting.id = entry.setting
    WHERE entry.session = ? AND {_SOUND} ORDER BY entry.number
"""  # noqa: S608 (constants)
_ENTRY = _ENTRIES.replace("ORDER BY entry.number", "AND entry.number = ?")
_JUDGED = f"""
    SELECT number, setting, string, position, kind, verdict, degree, target_degree, target_note,
           CASE kind WHEN 'curl' THEN bend_cents ELSE error_cents END, rise_s, overshoot_cents
    FROM entry WHERE session = ? AND onset_s IS NOT NULL AND {_SOUND} ORDER BY number
"""  # noqa: S608 (constants)
_TIMED = f"""
    SELECT number, setting, string, position, kind, verdict, degree, target_degree, target_note,
           beat_ms, hold_s, vibrato_hz, vibrato_cents, vibrato_side, vibrato_evenness
    FROM entry WHERE session = ? AND (beat_ms IS NOT NULL OR vibrato_hz > 0) AND onset_s IS NOT NULL AND {_SOUND}
    ORDER BY number
"""  # noqa: S608 (constants)
_LICKS = f"""
    SELECT lick, lick_note, lick_mark, max(rest_note), count(*), max(lick_pass) FROM entry
    WHERE session = ? AND lick IS NOT NULL AND lick_mark IS NOT NULL AND {_SOUND}
    GROUP BY lick, lick_note, lick_mark LIMIT 20000
"""  # noqa: S608 (constants)
_MOST_SETTINGS = 60_000
_MOST_SESSIONS = 100_000
_ROWS_AT_ONCE = 2000
_MOST_OLD_BYTES = 300_000_000
"""A log of version 1 is brought up to date in memory when it is only read."""
_RAW_ENTRIES = """
    SELECT entry.*, setting.*, trace.points FROM entry JOIN setting ON setting.id = entry.setting
    LEFT JOIN trace ON trace.session = entry.session AND trace.number = entry.number
    WHERE entry.session = ? ORDER BY entry.number
"""


@frozen
class Session:
    """One sitting. `id` counts arrivals in this file, `counter` those on its pedal; `uid` is the same everywhere.

    begun_wall_s : best guess of its first entry, seconds since 1970; `wall_doubtful` where a clock was unset or jumped.
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
    """An open log to look at; `with StoreReader(path) as log:` closes it.

    What no pedal writes (`bounds.py`) is passed over, whoever put it there; `remarks` says so, a sentence a session.
    """

    def __init__(self, path: Path | str) -> None:
        self._path = Path(path)
        self._connection = _open_to_read(self._path)
        self._connection.row_factory = sqlite3.Row
        self._limit = StepLimit(self._connection, self._path)
        self.remarks: list[str] = []

    def __enter__(self) -> StoreReader:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def players(self) -> list[tuple[int, str, str]]:
        """(id, player, uid of the pedal) of every session, sound or not, in order of arrival; no entry is looked at."""
        self.session_ids()
        self._connection.text_factory = _readable
        rows = list(self._rows("SELECT id, player, pedal_uid FROM session ORDER BY id"))
        self._connection.text_factory = str
        return [(row[0], clean(str(row[1])), str(row[2])) for row in rows]

    def sessions(self, only: Sequence[int] | None = None) -> list[Session]:
        """All sessions in order of arrival in this file, or `only` these (by `id`): the others are not looked at."""
        wanted = json.dumps(self.session_ids() if only is None else list(only))
        self._connection.text_factory = _readable
        rows = list(self._rows(_SESSIONS, wanted=wanted))
        self._connection.text_factory = str
        there = {row[0]: row[1] for row in self._rows(_COUNTS, wanted=wanted)}
        spans = {session: (entries, length_s) for session, entries, length_s in self._rows(_SPANS, wanted=wanted)}
        found = []
        for row in rows:
            entries, length_s = spans.get(row["id"], (0, 0.0))
            try:
                check_session({name: row[name] for name in row.keys()})  # noqa: SIM118 (iterating a Row gives values)
            except UnsoundError as fault:
                self._leave_out(row["id"], f"what no pedal writes ({fault})", "it is")
                continue
            if more := there.get(row["id"], 0) - entries:
                notes = "1 note that no pedal writes" if more == 1 else f"{more} notes that no pedal writes"
                self._leave_out(row["id"], notes, "it is" if more == 1 else "they are")
            found.append(_session_of(row, entries, length_s))
        return found

    def _leave_out(self, session: int, what: str, they_are: str) -> None:
        remedy = f"`undertoe review --forget {session}` removes the session"
        self.remarks.append(f"session {session} holds {what}: {they_are} left out; {remedy}")

    def entries(self, session: int, *, with_traces: bool = False) -> Iterator[LogEntry]:
        """The entries of a session (its `id`), in order; pitch traces only where asked for."""
        for number, entry in self.numbered(session):
            if with_traces and entry.verdict is not None:
                yield replace(entry, verdict=replace(entry.verdict, trace=self.trace(session, number)))
            else:
                yield entry

    def entries_from(self, session: Session, *, begun_s: float) -> Iterator[LogEntry]:
        """The entries of a session in order, with its player, and `time_s` on a clock that began it at `begun_s`."""
        first_s = None
        for entry in self.entries(session.id):
            first_s = entry.time_s if first_s is None else first_s
            yield replace(entry, time_s=begun_s + (entry.time_s - first_s), player=session.player or None)

    def numbered(self, session: int) -> Iterator[tuple[int, LogEntry]]:
        """The entries of a session with their numbers in it, without traces."""
        for row in self._rows(_ENTRIES, session):
            yield row[0], entry_of(tuple(row))

    def settings(self) -> dict[int, tuple[str, str]]:
        """(mode, key) of every setting that entries may have, by its id; raises `StoreError`, as for far too many."""
        query = f"SELECT id, mode, key FROM setting WHERE {sound_setting_sql()} LIMIT {_MOST_SETTINGS + 1}"  # noqa: S608 (constants)
        found = {row[0]: (row[1], clean(row[2])) for row in self._rows(query)}
        if len(found) > _MOST_SETTINGS:
            raise StoreError(f"The log {self._path} holds more settings than any pedal makes: name another with --log.")
        return found

    def judged(self, session: int) -> Iterator[list[Row]]:
        """The judged entries of a session as `pedal.progress.tries` takes them, some thousands at a time.

        Raises `StoreError` on the way where the file is damaged.
        """
        self._limit.begin()
        cursor = self._connection.cursor()
        cursor.row_factory = None
        try:
            cursor.execute(_JUDGED, (session,))
            while rows := cursor.fetchmany(_ROWS_AT_ONCE):
                yield rows
        except sqlite3.Error as error:
            raise store_error(error, self._path) from error

    def timed(self, session: int) -> Iterator[tuple[Any, ...]]:
        """Of judged entries with a beat or vibrato: nine columns as in `judged`, then those of a `TimedRow`.

        Raises `StoreError` on the way where the file is damaged.
        """
        self._limit.begin()
        cursor = self._connection.cursor()
        cursor.row_factory = None
        try:
            yield from cursor.execute(_TIMED, (session,))
        except sqlite3.Error as error:
            raise store_error(error, self._path) from error

    def lick_rows(self, session: int) -> list[LickRow]:
        """How often each mark was given to each note of each lick in a session."""
        return [
            (clean(row[0]), row[1], clean(row[2]), row[3] and clean(row[3]), row[4], row[5] or 0)
            for row in self._rows(_LICKS, session)
        ]

    def entry(self, session: int, number: int) -> LogEntry | None:
        """One entry, without its trace; None if it is not there."""
        row = next(self._rows(_ENTRY, session, number), None)
        return None if row is None else entry_of(tuple(row))

    def trace(self, session: int, number: int) -> Trace | None:
        """The pitch trace of an entry; None if it has none, none any more, or none that can be read."""
        row = next(self._rows("SELECT points FROM trace WHERE session = ? AND number = ?", session, number), None)
        try:
            return None if row is None else decode_trace(bytes(row[0]))
        except (TraceBlobError, TypeError):
            return None

    def pedal_uid(self) -> str:
        """Which pedal's log this is."""
        row = next(self._rows("SELECT value FROM about WHERE name = 'pedal_uid'"), None)
        return "" if row is None else clean(str(row[0]))

    def raw_session(self, session: int) -> sqlite3.Row:
        """The row of a session as the file holds it."""
        return next(self._rows("SELECT * FROM session WHERE id = ?", session))

    def session_ids(self) -> list[int]:
        """All sessions as the file holds them, sound or not; raises `StoreError` for more than any pedal makes."""
        found = [int(row[0]) for row in self._rows(f"SELECT id FROM session ORDER BY id LIMIT {_MOST_SESSIONS + 1}")]  # noqa: S608 (constants)
        if len(found) > _MOST_SESSIONS:
            raise StoreError(f"The log {self._path} holds more sessions than any pedal makes: name another with --log.")
        return found

    def raw_entries(self, session: int) -> Iterator[sqlite3.Row]:
        """The rows of a session's entries, settings and packed traces beside them, in order."""
        return self._rows(_RAW_ENTRIES, session)

    def _rows(self, query: str, *values: int, **named: str) -> Iterator[sqlite3.Row]:
        try:
            self._limit.begin()
            yield from self._connection.execute(query, named or values)
        except sqlite3.Error as error:
            raise store_error(error, self._path) from error


def quick_check(path: Path) -> str:
    """SQLite's word on a log: "ok", or what is damaged or in the way.

    Raises `StoreError` for a file that is no log of ours; nothing that stands in one is run before its shape is known.
    """
    refuse_what_is_no_file(path)
    try:
        connection = _connect_to_read(path)
        try:
            version_of(connection)
            StepLimit(connection, path).begin()
            return str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
        finally:
            connection.close()
    except sqlite3.Error as error:
        return str(error)
    except (NewerFileError, ForeignFileError) as fault:
        raise _refused(path, fault) from fault


def _open_to_read(path: Path) -> sqlite3.Connection:
    refuse_what_is_no_file(path)
    if not path.is_file():
        raise StoreError(f"There is no log at {path} yet: play with `undertoe live`, or name another file with --log.")
    try:
        return _up_to_date(_connect_to_read(path), path)
    except sqlite3.Error as error:
        raise store_error(error, path) from error
    except (NewerFileError, ForeignFileError) as fault:
        raise _refused(path, fault) from fault


def _refused(path: Path, fault: NewerFileError | ForeignFileError) -> StoreError:
    if isinstance(fault, NewerFileError):
        return StoreError(
            f"The log {path} was written by a newer Undertoe (file version {fault.version}): update this one."
        )
    return StoreError(f"{path} {fault.what}: name a log with --log.")


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """Read-only; a WAL file in a folder that may not be written opens only as one that nobody writes to."""
    address = path.resolve().as_uri()
    for how in ("?mode=ro", "?mode=ro&immutable=1"):
        connection = sqlite3.connect(address + how, uri=True, timeout=BUSY_S, isolation_level=None)
        try:
            harden(connection)
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except sqlite3.DatabaseError as error:
            connection.close()
            fault = error
        else:
            return connection
    raise fault


def _up_to_date(connection: sqlite3.Connection, path: Path) -> sqlite3.Connection:
    """The same, seen as if it were up to date: looking at a log changes nothing. One refused is closed.

    One of version 2 is looked at through a view, however large; one of version 1 is moved forward in memory.
    """
    try:
        version = version_of(connection)
        if version == 2:
            look_at_version_2_as_3(connection)
        if version in (2, VERSION):
            return connection
        _refuse_a_large_copy(path)
        copy = sqlite3.connect(":memory:", isolation_level=None)
        harden(copy)
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


def _refuse_a_large_copy(path: Path) -> None:
    if path.stat().st_size > _MOST_OLD_BYTES:
        raise StoreError(f"The log {path} is of an old kind and large: play with it once, which brings it up to date.")


def _readable(raw: bytes) -> str:
    return raw.decode(errors="replace")


def _session_of(row: sqlite3.Row, entries: int, length_s: float) -> Session:
    return Session(
        id=row["id"], uid=row["uid"], pedal_uid=row["pedal_uid"], counter=row["counter"], player=clean(row["player"]),
        begun_wall_s=row["begun_wall_s"] + row["wall_shift_s"], wall_doubtful=bool(row["wall_doubtful"]),
        entries=entries, length_s=length_s,
    )  # fmt: skip
