"""Sessions out of one log and into another, without doubles: the format is described in docs/log.md.

An export is text, one JSON object a line: the format's version, then each session followed by its entries. A session
keeps its uid and an entry its number wherever it goes, so the same one is never kept twice.
"""

from __future__ import annotations

import base64
import binascii
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TypeAlias

from pedal.app.errors import StoreError
from pedal.app.store.faults import store_error
from pedal.app.store.opening import open_log
from pedal.app.store.reader import Session, StoreReader
from pedal.app.store.row import ENTRY_COLUMNS, placeholders
from pedal.app.store.trace_blob import TraceBlobError, decode_trace
from pedal.app.store.writer import INSERT_ENTRY, setting_id
from pedal.theory.spelling import NoteNameError, parse_pitch

FORMAT = 1
_SQLITE = b"SQLite format 3\x00"
_SESSION_COLUMNS = ("uid", "pedal_uid", "counter", "player", "begun_wall_s", "wall_shift_s", "wall_doubtful")
_SETTING_COLUMNS = ("mode", "key", "drone", "a4_hz", "tuning")
_OWN_COLUMNS = tuple(name for name in ENTRY_COLUMNS if name not in ("session", "number", "setting"))
_INSERT_SESSION = f"INSERT INTO session ({', '.join(_SESSION_COLUMNS)}) VALUES ({placeholders(_SESSION_COLUMNS)})"  # noqa: S608 (constants)

Value: TypeAlias = str | float | int | None
Record: TypeAlias = Mapping[str, Value]
"""One line of an export: a session where it has "uid", else an entry of the session before it."""


class NoExportError(ValueError):
    """Something in a file that no export of ours holds."""


_NO_EXPORT = (
    NoExportError,
    NoteNameError,
    TraceBlobError,
    binascii.Error,
    sqlite3.IntegrityError,
    KeyError,
    OverflowError,
)


def export_sessions(log: Path, path: Path, sessions: Iterable[Session]) -> tuple[int, int]:
    """Write these sessions of a log to a file; how many sessions and entries. Raises `StoreError`."""
    counted = [0, 0]
    try:
        with StoreReader(log) as reader, path.open("w", encoding="utf-8") as file:
            file.write(json.dumps({"undertoe_log": FORMAT}) + "\n")
            for record in _records(reader, sessions):
                file.write(json.dumps(record, ensure_ascii=False, allow_nan=False) + "\n")
                counted["uid" not in record] += 1
    except OSError as error:
        raise StoreError(f"{path} cannot be written: {error.strerror}.") from error
    return counted[0], counted[1]


def import_sessions(path: Path, log: Path) -> tuple[int, int]:
    """Take an export, or another log, into a log; how many sessions and entries were new.

    All of the file or nothing: raises `StoreError` where it is no export or the log cannot be written.
    """
    try:
        with path.open("rb") as file:
            is_log = file.read(len(_SQLITE)) == _SQLITE
        if not is_log:
            return _merge(_parsed(path), log, path)
        with StoreReader(path) as other:
            return _merge(_records(other, other.sessions()), log, path)
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror}.") from error


def _records(reader: StoreReader, sessions: Iterable[Session]) -> Iterator[Record]:
    for session in sessions:
        row = reader.raw_session(session.id)
        yield {name: row[name] for name in _SESSION_COLUMNS}
        for entry in reader.raw_entries(session.id):
            kept: dict[str, Value] = {name: entry[name] for name in ("number", *_SETTING_COLUMNS, *_OWN_COLUMNS)}
            kept = {name: value for name, value in kept.items() if value is not None}
            if entry["points"]:
                kept["points"] = base64.b64encode(entry["points"]).decode("ascii")
            yield kept


def _parsed(path: Path) -> Iterator[Record]:
    with path.open(encoding="utf-8") as file:
        try:
            head = _object(file.readline())
            if head.get("undertoe_log") != FORMAT:
                raise NoExportError(f'it begins without {{"undertoe_log": {FORMAT}}}')
            for number, line in enumerate(file, 2):
                yield _object(line, number)
        except UnicodeDecodeError as error:
            raise NoExportError("it is no text") from error


def _object(line: str, number: int = 1) -> dict[str, Value]:
    try:
        found = json.loads(line)
    except ValueError as error:
        raise NoExportError(f"line {number} is no JSON") from error
    if not isinstance(found, dict) or not all(v is None or isinstance(v, str | int | float) for v in found.values()):
        raise NoExportError(f"line {number} is no flat JSON object")
    return found


def _merge(records: Iterator[Record], log: Path, path: Path) -> tuple[int, int]:
    connection, _ = open_log(log)
    try:
        connection.execute("BEGIN IMMEDIATE")
        counted = _insert_all(connection, records)
        connection.execute("COMMIT")
    except _NO_EXPORT as error:
        raise StoreError(f"{path} is no export of a log ({_what(error)}): nothing was taken from it.") from error
    except sqlite3.Error as error:
        raise store_error(error, log) from error
    finally:
        connection.close()  # which rolls back what was not committed
    return counted


def _what(error: Exception) -> str:
    return f"{error} is missing" if isinstance(error, KeyError) else str(error)


def _insert_all(connection: sqlite3.Connection, records: Iterator[Record]) -> tuple[int, int]:
    session, there, new_sessions, new_entries = 0, set[int](), 0, 0
    for record in records:
        if "uid" in record:
            session, is_new = _session_id(connection, record)
            new_sessions += is_new
            found = connection.execute("SELECT number FROM entry WHERE session = ?", (session,))
            there = {int(number) for (number,) in found}
        elif not session:
            raise NoExportError("an entry comes before any session")
        elif record["number"] not in there:
            _insert_entry(connection, session, record)
            new_entries += 1
    return new_sessions, new_entries


def _session_id(connection: sqlite3.Connection, record: Record) -> tuple[int, bool]:
    found = connection.execute("SELECT id FROM session WHERE uid = ?", (record["uid"],)).fetchone()
    if found:
        return int(found[0]), False
    return int(connection.execute(_INSERT_SESSION, [record[name] for name in _SESSION_COLUMNS]).lastrowid or 0), True


def _insert_entry(connection: sqlite3.Connection, session: int, record: Record) -> None:
    for name in ("rest_note", "target_note", "asked_note"):
        if record.get(name) is not None:
            parse_pitch(str(record[name]))
    setting = setting_id(connection, tuple(record[name] for name in _SETTING_COLUMNS))
    own = [record.get(name) for name in _OWN_COLUMNS]
    connection.execute(INSERT_ENTRY, (session, record["number"], setting, *own))
    if points := record.get("points"):
        blob = base64.b64decode(str(points), validate=True)
        decode_trace(blob)  # so that what is kept can be drawn later
        connection.execute("INSERT INTO trace VALUES (?, ?, ?)", (session, record["number"], blob))
