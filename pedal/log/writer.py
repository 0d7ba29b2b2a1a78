"""Log entries -> the file, one transaction a batch."""

from __future__ import annotations

import sqlite3
import time
import uuid
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from pedal.errors import StoreError
from pedal.log import thinning
from pedal.log.bounds import LATEST_WALL_S, MOST_NUMBER
from pedal.log.faults import is_damage, store_error
from pedal.log.opening import open_log, set_aside
from pedal.log.row import ENTRY_COLUMNS, entry_values, placeholders, setting_values
from pedal.log.trace_blob import encode_trace
from pedal.log.wall_clock import WallClock
from pedal.modes.log_entry import LogEntry

INSERT_ENTRY = f"INSERT INTO entry ({', '.join(ENTRY_COLUMNS)}) VALUES ({placeholders(ENTRY_COLUMNS)})"  # noqa: S608 (constants)
_INSERT_SESSION = (
    "INSERT INTO session (uid, pedal_uid, counter, player, begun_wall_s, wall_doubtful) VALUES (?, ?, ?, ?, ?, ?)"
)
_LATEST = (
    "SELECT coalesce(max(counter) FILTER (WHERE counter <= ?), 0) + 1, "
    "max(begun_wall_s) FILTER (WHERE NOT wall_doubtful AND begun_wall_s <= ?) FROM session WHERE pedal_uid = ?"
)
_WHERE_IT_STANDS = (
    "SELECT (SELECT count(*) FROM session WHERE (id, uid) = (?1, ?2)), "
    "(SELECT max(number) FROM entry WHERE session = ?1)"
)
_BATCHES_A_SIZE_CHECK = 64


class SqliteStore:
    """Keeps entries; fits `pedal.ports.Store`. One thread at a time may call it; which one does not matter.

    remark : one sentence on what was unusual (a damaged log set aside), "" if nothing.
    """

    def __init__(self, path: Path, clock: WallClock, *, player: str, most_bytes: int) -> None:
        self._path, self._clock, self._player, self._most_bytes = path, clock, player, most_bytes
        self._connection, self.remark = open_log(path)
        self._begin_afresh()
        self._jump_s = 0.0  # as far as the file has been told
        self._batches = 0
        self._closed = False
        self._lost = False

    def append(self, entries: list[LogEntry]) -> None:
        """Keep entries, in order, all or none; on the disk when this returns.

        Raises `StoreError` (full, locked, unwritable): nothing of the batch was kept, and the same batch may be given
        again later. A log found damaged is set aside, and the batch begins a fresh one.
        """
        if self._closed:
            raise StoreError(f"The log {self._path} is closed.")
        if not entries:
            return
        if self._lost:
            self._connection, self.remark = open_log(self._path)
            self._lost = False
        try:
            self._write(entries)
        except sqlite3.Error as error:
            if not is_damage(error):
                raise store_error(error, self._path) from error
            self._replace(error)
            self.append(entries)

    def close(self) -> None:
        """Let go of the file; safe to call twice."""
        if not self._closed:
            self._closed = True
            self._connection.close()

    def _begin_afresh(self) -> None:
        """A session's row waits for its first entry: a pedal that is only switched on leaves no empty session."""
        self._sessions: dict[str, tuple[int, str]] = {}  # each player's id and uid
        self._doubtful: bool | None = None
        self._settings: dict[tuple[object, ...], int] = {}

    def _write(self, entries: list[LogEntry]) -> None:
        connection, settings, sessions = self._connection, dict(self._settings), dict(self._sessions)
        numbers: dict[str, int] = {}
        connection.execute("BEGIN IMMEDIATE")
        try:
            for entry in entries:
                player = self._player if entry.player is None else entry.player
                if player not in numbers:
                    sessions[player], numbers[player] = self._taken_up(player, sessions.get(player, (0, "")))
                numbers[player] += 1
                self._insert(sessions[player][0], numbers[player], entry, settings)
            jump_s = self._note_clock_jump(sessions)
            connection.execute("COMMIT")
        except BaseException:
            connection.rollback()
            raise
        self._sessions, self._settings, self._jump_s = sessions, settings, jump_s
        self._batches += 1
        if self._batches % _BATCHES_A_SIZE_CHECK == 1:
            # The batch is on the disk: whatever fails from here on, it must not be given again.
            with suppress(sqlite3.Error):
                thinning.keep_below(connection, self._most_bytes)

    def _taken_up(self, player: str, session: tuple[int, str]) -> tuple[tuple[int, str], int]:
        """A player's session, begun if there is none, and its last number as the file has it.

        Others may have restored into it, or forgotten it, and then its id may have gone to another.
        """
        there, number = self._connection.execute(_WHERE_IT_STANDS, session).fetchone()
        if not there:
            session, number = self._begin_session(player), 0
        return session, int(number or 0)

    def _insert(self, session: int, number: int, entry: LogEntry, settings: dict[tuple[object, ...], int]) -> None:
        values = setting_values(entry)
        if values not in settings:
            settings[values] = setting_id(self._connection, values)
        self._connection.execute(INSERT_ENTRY, entry_values(session, number, settings[values], entry))
        if entry.verdict is not None and entry.verdict.trace is not None and len(entry.verdict.trace.time_s):
            points = encode_trace(entry.verdict.trace)
            self._connection.execute("INSERT INTO trace VALUES (?, ?, ?)", (session, number, points))

    def _begin_session(self, player: str) -> tuple[int, str]:
        pedal_uid = self._connection.execute("SELECT value FROM about WHERE name = 'pedal_uid'").fetchone()[0]
        latest = self._connection.execute(_LATEST, (MOST_NUMBER, LATEST_WALL_S, pedal_uid))
        counter, latest_s = latest.fetchone()
        # With its first note, and not with the log: a pedal may stand on for an hour before anybody plays.
        begun_s = self._clock.later_s()
        if self._doubtful is None:  # later, `latest_s` is of this very run, which goes on after the log was opened
            self._doubtful = self._clock.doubtful_after(latest_s)
        uid = uuid.uuid4().hex
        row = (uid, pedal_uid, counter, player, begun_s, self._doubtful)
        return int(self._connection.execute(_INSERT_SESSION, row).lastrowid or 0), uid

    def _note_clock_jump(self, sessions: dict[str, tuple[int, str]]) -> float:
        """How far the clock has jumped; told to every session of this run where it is news, else to those that are new.

        It stays news until the batch is on the disk.
        """
        jump_s = self._clock.jump_s(self._jump_s)
        told = {uid for _, uid in self._sessions.values()} if jump_s == self._jump_s else set()
        for session, uid in sessions.values():
            if jump_s and uid not in told:
                jumped = "UPDATE session SET wall_doubtful = 1, wall_shift_s = ? WHERE (id, uid) = (?, ?)"
                self._connection.execute(jumped, (jump_s, session, uid))
        return jump_s

    def _replace(self, error: sqlite3.Error) -> None:
        self._connection.close()
        self._lost = True  # until a fresh one is open: should that fail here, the next batch tries again
        self._begin_afresh()
        remark = set_aside(self._path, str(error))
        self._connection, _ = open_log(self._path)
        self._lost = False
        self.remark = remark


def setting_id(connection: sqlite3.Connection, values: tuple[object, ...]) -> int:
    """The row of these settings, made if it is new."""
    connection.execute("INSERT OR IGNORE INTO setting (mode, key, drone, a4_hz, tuning) VALUES (?, ?, ?, ?, ?)", values)
    found = "SELECT id FROM setting WHERE (mode, key, drone, a4_hz, tuning) = (?, ?, ?, ?, ?)"
    return int(connection.execute(found, values).fetchone()[0])


def open_store(
    path: Path | str,
    *,
    player: str = "",
    most_bytes: int = thinning.MOST_BYTES,
    wall: Callable[[], float] = time.time,
    monotonic: Callable[[], float] = time.monotonic,
) -> SqliteStore:
    """A store that appends to the log at `path`, begun if missing; a session starts with the first entry.

    player : who plays, where an entry does not say; each player has a session of their own.
    most_bytes : above this the oldest pitch traces go.
    wall, monotonic : seconds since 1970 (a hint only) and seconds that never jump.

    Raises `StoreError`: a newer file, another program's, or one that cannot be written.
    """
    return SqliteStore(Path(path), WallClock(wall, monotonic), player=player, most_bytes=most_bytes)
