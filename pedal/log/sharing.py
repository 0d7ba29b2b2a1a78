"""Sessions out of one log and into another, without doubles: the format is described in docs/log.md.

An export is text, one JSON object a line: the format's version, then each session followed by its entries. A session
keeps its uid and an entry its number wherever it goes, so the same one is never kept twice. A file from elsewhere is
not believed: `bounds.py` looks at each value, and nothing may pass itself off as this pedal's own.
"""

from __future__ import annotations

import base64
import binascii
import json
import os
import sqlite3
import stat
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Set
from contextlib import closing
from pathlib import Path
from typing import Any, BinaryIO

from pedal.errors import StoreError
from pedal.log.bounds import MOST_NUMBER, UnsoundError, Value, check_entry, check_session
from pedal.log.faults import store_error
from pedal.log.opening import open_log, open_sound_log
from pedal.log.reader import Session, StoreReader
from pedal.log.row import ENTRY_COLUMNS, placeholders
from pedal.log.thinning import MOST_BYTES, used_bytes
from pedal.log.trace_blob import TraceBlobError, decode_trace
from pedal.log.wall_clock import RELEASE_S
from pedal.log.writer import INSERT_ENTRY, setting_id
from pedal.safe_files import writing

FORMAT = 1
MOST_LINE_BYTES = 400_000
"""A trace of six minutes is 180 kB before it is packed, a third more in base64."""
_AHEAD_S = 86_400.0
"""A clock in another time zone, or set by hand, may be a day ahead of ours."""
_RECORDS_A_SIZE_CHECK = 200
_SQLITE = b"SQLite format 3\x00"
_SESSION_COLUMNS = ("uid", "pedal_uid", "counter", "player", "begun_wall_s", "wall_shift_s", "wall_doubtful")
_SETTING_COLUMNS = ("mode", "key", "drone", "a4_hz", "tuning")
_OWN_COLUMNS = tuple(name for name in ENTRY_COLUMNS if name not in ("session", "number", "setting"))
_INSERT_SESSION = f"INSERT INTO session ({', '.join(_SESSION_COLUMNS)}) VALUES ({placeholders(_SESSION_COLUMNS)})"  # noqa: S608 (constants)
_SPAN = (
    "SELECT min(begun_wall_s) FILTER (WHERE NOT wall_doubtful), max(begun_wall_s) FILTER (WHERE NOT wall_doubtful), "
    "max(counter) FROM session WHERE pedal_uid = ?"
)

Record = Mapping[str, Value]
"""One line of an export: first whose log it is, then a session where it has "uid", else an entry of the one before."""


class NoExportError(ValueError):
    """Something in a file that no export of ours holds."""


_NO_EXPORT = (NoExportError, UnsoundError, TraceBlobError, binascii.Error, sqlite3.IntegrityError, OverflowError)


def export_sessions(log: Path, path: Path, sessions: Iterable[Session]) -> tuple[int, int]:
    """Write these sessions of a log to a file; how many sessions and entries. Raises `StoreError`."""
    counted = [0, 0]
    with StoreReader(log) as reader, writing(path, instead_of=(log,)) as file:
        file.write(json.dumps({"undertoe_log": FORMAT, "pedal_uid": reader.pedal_uid()}) + "\n")
        for record in _records(reader, sessions):
            file.write(json.dumps(record, ensure_ascii=False, allow_nan=False) + "\n")
            counted["uid" not in record] += 1
    return counted[0], counted[1]


def import_sessions(
    path: Path,
    log: Path,
    *,
    restoring: bool = False,
    most_bytes: int = MOST_BYTES,
    remark: Callable[[str], None] | None = None,
) -> tuple[int, int]:
    """Take an export, or another log, into a log; how many sessions and entries were new.

    restoring : the file is this pedal's own, and may add to its own sessions. A log that was begun only after the
        file's last session, as on a card that was written anew, goes on as the file's pedal.
    most_bytes : the log's bound; what would make it larger is refused, so that nothing of the owner's has to go for it.
    remark : told in a sentence that the log was damaged and set aside, whatever becomes of the import then, and that
        it goes on as another pedal.

    All of the file or nothing: raises `StoreError` where it is no sound export or the log cannot be written.
    """

    def merge() -> _Merge:
        merging = _Merge(log, path, restoring=restoring, most_bytes=most_bytes)
        if merging.remark and remark is not None:
            remark(merging.remark)
        return merging

    try:
        with _opened(path) as file:
            is_log = file.read(len(_SQLITE)) == _SQLITE
            if not is_log:
                file.seek(0)
                merging = merge()
                found = merging.run(_parsed(file))
        if is_log:
            # Every session as it stands in the file: what is unsound is refused at the door, not passed over.
            with StoreReader(path) as other, closing(_log_records(other)) as records:
                merging = merge()
                found = merging.run(records)
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror}.") from error
    if merging.goes_on_as_another and remark is not None:
        remark("This log goes on as the pedal that wrote the file.")
    return found


def forget_session(log: Path, session: int, *, kept: int | None = None) -> int | None:
    """Remove a session (its id) with its entries and traces; how many entries, or None if it is not there.

    kept : how many of its entries a copy holds that was made of it, if one was.

    Raises `StoreError` for a log that cannot be opened or written, and where the session has more entries than its
    copy, because they are unsound or were played meanwhile; then nothing is gone.
    """
    connection = open_sound_log(log)
    try:
        connection.execute("BEGIN IMMEDIATE")
        entries = int(connection.execute("SELECT count(*) FROM entry WHERE session = ?", (session,)).fetchone()[0])
        if kept is not None and kept < entries:
            raise StoreError(
                f"Of the {entries} notes of session {session} the copy holds {kept}: nothing is forgotten. Export once "
                "more what was just played; leave --export out where a note is damaged."
            )
        gone = connection.execute("DELETE FROM session WHERE id = ?", (session,)).rowcount
        connection.execute("COMMIT")
    except sqlite3.Error as error:
        raise store_error(error, log) from error
    finally:
        connection.close()
    return entries if gone else None


def _opened(path: Path) -> BinaryIO:
    """A regular file, open to read: a pipe without a writer would wait for ever."""
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise StoreError(f"{path} is no file: name an export, or a log.")
    return os.fdopen(handle, "rb")


def _records(reader: StoreReader, sessions: Iterable[Session]) -> Iterator[Record]:
    """What of these sessions is sound: an export that this program would refuse is of use to nobody."""
    for record in _raw_records(reader, [session.id for session in sessions]):
        sound = record if "uid" in record else _sound_part(record)
        if sound is not None:
            yield sound


def _sound_part(entry: Record) -> Record | None:
    """The entry, without a curve that cannot be read: its verdict is worth keeping. None where itself is unsound."""
    try:
        check_entry(entry)
        decode_trace(base64.b64decode(str(entry.get("points", ""))))
    except UnsoundError:
        return None
    except TraceBlobError:
        return {name: value for name, value in entry.items() if name != "points"}
    return entry


def _raw_records(reader: StoreReader, sessions: Iterable[int]) -> Generator[Record, None, None]:
    for session in sessions:
        row = reader.raw_session(session)
        yield {name: row[name] for name in _SESSION_COLUMNS}
        for entry in reader.raw_entries(session):
            kept: dict[str, Value] = {name: entry[name] for name in ("number", *_SETTING_COLUMNS, *_OWN_COLUMNS)}
            kept = {name: value for name, value in kept.items() if value is not None}
            if entry["points"]:
                kept["points"] = base64.b64encode(entry["points"]).decode("ascii")
            yield kept


def _log_records(reader: StoreReader) -> Generator[Record, None, None]:
    """Another log as its export would be: first whose it is."""
    yield {"pedal_uid": reader.pedal_uid()}
    yield from _raw_records(reader, reader.session_ids())


def _parsed(file: BinaryIO) -> Iterator[Record]:
    """First whose log it is, which releases before 0.2 did not say."""
    head = _object(file.readline(MOST_LINE_BYTES + 1), 1)
    if head.get("undertoe_log") != FORMAT:
        raise NoExportError(f'it begins without {{"undertoe_log": {FORMAT}}}')
    yield {"pedal_uid": head.get("pedal_uid")}
    number = 1
    while line := file.readline(MOST_LINE_BYTES + 1):
        number += 1
        yield _object(line, number)


def _object(line: bytes, number: int) -> dict[str, Value]:
    if len(line) > MOST_LINE_BYTES:
        raise NoExportError(f"line {number} is longer than {MOST_LINE_BYTES} bytes")
    try:
        found: Any = json.loads(line.decode())
    except UnicodeDecodeError as error:
        raise NoExportError(f"line {number} is no text") from error
    except (ValueError, RecursionError) as error:
        raise NoExportError(f"line {number} is no JSON") from error
    if not isinstance(found, dict) or not all(v is None or isinstance(v, str | int | float) for v in found.values()):
        raise NoExportError(f"line {number} is no flat JSON object")
    return found


class _Merge:
    """One file into one log, in one transaction."""

    def __init__(self, log: Path, path: Path, *, restoring: bool, most_bytes: int) -> None:
        self._log, self._path, self._restoring, self._most_bytes = log, path, restoring, most_bytes
        self._connection, self.remark = open_log(log)
        self._own_uid = str(self._connection.execute("SELECT value FROM about WHERE name = 'pedal_uid'").fetchone()[0])
        self._session, self._closed_to_new = 0, False
        self._sessions, self._entries = 0, 0
        self._pedals: set[Value] = set()
        self.goes_on_as_another = False

    def run(self, records: Iterator[Record]) -> tuple[int, int]:
        """How many sessions and entries were new; raises `StoreError`, and then nothing was taken."""
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            wrote = next(records)["pedal_uid"]
            for number, record in enumerate(records, 1):
                self._take(record)
                if number % _RECORDS_A_SIZE_CHECK == 0:
                    self._refuse_what_is_too_much()
            self._refuse_what_is_too_much()
            if self._restoring:
                self._go_on_as({wrote} if wrote else self._pedals)
            self._connection.execute("COMMIT")
        except _NO_EXPORT as error:
            raise StoreError(f"{self._path} is no export of a log ({error}): nothing was taken from it.") from error
        except sqlite3.Error as error:
            raise store_error(error, self._log) from error
        finally:
            self._connection.close()  # which rolls back what was not committed
        return self._sessions, self._entries

    def _take(self, record: Record) -> None:
        if "uid" in record:
            check_session(record)
            self._begin(record)
            return
        if not self._session:
            raise NoExportError("an entry comes before any session")
        check_entry(record)
        found = "SELECT 1 FROM entry WHERE session = ? AND number = ?"
        if self._connection.execute(found, (self._session, record["number"])).fetchone():
            return
        if self._closed_to_new:
            raise NoExportError(
                "it adds notes to a session of this pedal's own: give --restore if it is your own export"
            )
        self._insert(record)
        self._entries += 1

    def _begin(self, record: Record) -> None:
        uid, pedal_uid = record["uid"], record["pedal_uid"]
        self._pedals.add(pedal_uid)
        is_own = pedal_uid == self._own_uid and not self._restoring
        here = self._connection.execute("SELECT id, pedal_uid, counter FROM session WHERE uid = ?", (uid,)).fetchone()
        if here is None:
            if is_own:
                raise NoExportError(
                    "it holds a session of this pedal's own, which its log does not hold: give --restore if it is your "
                    "own export"
                )
            values = record | {"wall_doubtful": self._doubtful(record)}  # type: ignore[operator]
            row = self._connection.execute(_INSERT_SESSION, [values[name] for name in _SESSION_COLUMNS])
            self._session, self._closed_to_new = int(row.lastrowid or 0), False
            self._sessions += 1
        elif (here[1], here[2]) != (pedal_uid, record["counter"]):
            raise NoExportError(f"a session with the uid {uid} is another one here")
        else:
            self._session, self._closed_to_new = int(here[0]), is_own

    def _go_on_as(self, pedals: Set[Value]) -> None:
        """Become the pedal whose log was restored, if it is known and was played before all that is ours; else nothing.

        What nobody named played on another pedal is nobody's past here, and a card that is written anew is no other
        pedal. What was played on it meanwhile stays ours, and comes after.
        """
        if len(pedals) != 1 or not pedals <= self._pedals - {self._own_uid}:
            return
        (pedal_uid,) = pedals
        first_s, _, most_own = self._connection.execute(_SPAN, (self._own_uid,)).fetchone()
        _, last_s, counter = self._connection.execute(_SPAN, (pedal_uid,)).fetchone()
        if (first_s is not None and (last_s is None or first_s < last_s)) or counter + (most_own or 0) > MOST_NUMBER:
            return
        self._connection.execute(
            "UPDATE session SET pedal_uid = ?, counter = counter + ? WHERE pedal_uid = ?",
            (pedal_uid, counter, self._own_uid),
        )
        self._connection.execute("UPDATE about SET value = ? WHERE name = 'pedal_uid'", (pedal_uid,))
        self.goes_on_as_another = True

    @staticmethod
    def _doubtful(record: Record) -> int:
        """Whether its date is doubted here; raises `NoExportError` for one that is believed and lies ahead of us."""
        begun_s = float(record["begun_wall_s"] or 0) + float(record["wall_shift_s"] or 0)
        now_s = time.time()
        if record["wall_doubtful"] or begun_s < RELEASE_S:
            return 1
        if begun_s <= now_s + _AHEAD_S:
            return 0
        if now_s < RELEASE_S:
            return 1  # it is our own clock that was never set
        raise NoExportError("a session's date lies ahead of this machine's clock")

    def _insert(self, record: Record) -> None:
        setting = setting_id(self._connection, tuple(record[name] for name in _SETTING_COLUMNS))
        own = [record.get(name) for name in _OWN_COLUMNS]
        self._connection.execute(INSERT_ENTRY, (self._session, record["number"], setting, *own))
        points = record.get("points")
        if points is None or points == "":
            return
        if not isinstance(points, str) or not points.isascii():
            raise NoExportError("points must be text in base64")
        blob = base64.b64decode(points, validate=True)
        decode_trace(blob)  # so that what is kept can be drawn later
        self._connection.execute("INSERT INTO trace VALUES (?, ?, ?)", (self._session, record["number"], blob))

    def _refuse_what_is_too_much(self) -> None:
        if (self._sessions or self._entries) and used_bytes(self._connection) > self._most_bytes:
            raise StoreError(
                f"{self._path} would make the log larger than the {self._most_bytes / 1e6:.0f} MB of log.max_mb: "
                "nothing was taken from it. Export fewer sessions (--since), or allow more."
            )
