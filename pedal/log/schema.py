"""The shape of the log's file, version by version; an older one is moved forward, never back."""

from __future__ import annotations

import re
import sqlite3
import uuid
from functools import cache

APPLICATION_ID = 0x55746F65
"""SQLite's header field that says whose file this is ("Utoe")."""

VERSION = 3

_CREATE_2 = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;

CREATE TABLE session (
    id INTEGER PRIMARY KEY,          -- order of arrival in this file
    uid TEXT NOT NULL UNIQUE,        -- the same in every file the session was ever merged into
    pedal_uid TEXT NOT NULL,         -- the log it was first written to
    counter INTEGER NOT NULL,        -- its number there: the order of sessions where no clock can be trusted
    player TEXT NOT NULL DEFAULT '',
    begun_wall_s REAL NOT NULL,      -- seconds since 1970: a hint
    wall_shift_s REAL NOT NULL DEFAULT 0,  -- how far the wall clock jumped while the session ran
    wall_doubtful INTEGER NOT NULL
) STRICT;

CREATE TABLE setting (
    id INTEGER PRIMARY KEY, mode TEXT NOT NULL, key TEXT NOT NULL, drone INTEGER NOT NULL, a4_hz REAL NOT NULL,
    tuning TEXT NOT NULL, UNIQUE (mode, key, drone, a4_hz, tuning)
) STRICT;

CREATE TABLE entry (
    session INTEGER NOT NULL REFERENCES session (id) ON DELETE CASCADE,
    number INTEGER NOT NULL,         -- from 1 within the session; (session uid, number) is the entry's stable id
    setting INTEGER NOT NULL REFERENCES setting (id),
    time_s REAL NOT NULL, position INTEGER, string INTEGER, fret INTEGER, asked_note TEXT, skipped INTEGER NOT NULL,
    onset_s REAL, end_s REAL, rest_note TEXT, rest_cents REAL, degree TEXT, shape TEXT, kind TEXT, target_note TEXT,
    target_degree TEXT, bend_cents REAL, error_cents REAL, absolute_cents REAL, peak_cents REAL, overshoot_cents REAL,
    rise_s REAL, hold_s REAL, final_cents REAL, ending TEXT, vibrato_hz REAL, vibrato_cents REAL, verdict TEXT,
    reason TEXT,
    PRIMARY KEY (session, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE trace (
    session INTEGER NOT NULL, number INTEGER NOT NULL, points BLOB NOT NULL,
    PRIMARY KEY (session, number), FOREIGN KEY (session, number) REFERENCES entry (session, number) ON DELETE CASCADE
) STRICT;

CREATE VIEW log AS
    SELECT session.counter AS session_counter, session.player, setting.mode, setting.key, setting.drone, setting.a4_hz,
           setting.tuning, entry.*
    FROM entry JOIN session ON session.id = entry.session JOIN setting ON setting.id = entry.setting;
"""

ADDED_IN_3 = (
    "rest_heard INTEGER", "begun_by TEXT", "vibrato_side TEXT", "vibrato_evenness REAL",
    "lick TEXT", "lick_pass INTEGER", "lick_note INTEGER", "lick_mark TEXT", "beat_ms REAL", "chord TEXT",
)  # fmt: skip
"""Columns of an entry that version 2 did not know: null in what it wrote."""

# A column that may be null is added without a row being touched: a log of years moves forward as fast as a new one.
_FROM_2 = "".join(f"ALTER TABLE entry ADD COLUMN {column};\n" for column in ADDED_IN_3)

_CREATE_1 = """
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
"""
"""The shape of version 1, to know one by."""

# Version 1 wrote the settings out in every row and knew no other pedal than its own.
_FROM_1 = """
ALTER TABLE session RENAME TO session_1;
ALTER TABLE entry RENAME TO entry_1;
ALTER TABLE trace RENAME TO trace_1;
{create}
INSERT INTO session (id, uid, pedal_uid, counter, begun_wall_s, wall_doubtful)
    SELECT id, uid, (SELECT value FROM about WHERE name = 'pedal_uid'), id, begun_wall_s, wall_doubtful FROM session_1;
INSERT INTO setting (mode, key, drone, a4_hz, tuning)
    SELECT DISTINCT mode, key, drone, a4_hz, tuning FROM entry_1 ORDER BY session, number;
INSERT INTO entry
    SELECT e.session, e.number, setting.id, e.time_s, e.position, e.string, e.fret, e.asked_note, e.skipped, e.onset_s,
           e.end_s, e.rest_note, e.rest_cents, e.degree, e.shape, e.kind, e.target_note, e.target_degree, e.bend_cents,
           e.error_cents, e.absolute_cents, e.peak_cents, e.overshoot_cents, e.rise_s, e.hold_s, e.final_cents,
           e.ending, e.vibrato_hz, e.vibrato_cents, e.verdict, e.reason
    FROM entry_1 AS e JOIN setting USING (mode, key, drone, a4_hz, tuning);
INSERT INTO trace SELECT session, number, points FROM trace_1;
DROP TABLE trace_1;
DROP TABLE entry_1;
DROP TABLE session_1;
"""


class NewerFileError(Exception):
    """The file was written by a newer version of this program; `version` is the file's."""

    def __init__(self, version: int) -> None:
        super().__init__(f"version {version}")
        self.version = version


class ForeignFileError(Exception):
    """A sound SQLite file of another program; `what` tells what was seen, to stand in a sentence after its name."""

    what = "belongs to another program"


class MisshapenFileError(ForeignFileError):
    """A file that says it is a log and is not built like one: nothing in it may be run."""

    what = "says that it is a log, and is not built like a log"


def bring_up_to_date(connection: sqlite3.Connection) -> None:
    """Create the tables in an empty file, or move an older one forward, in one transaction.

    Raises `NewerFileError`, `ForeignFileError`, or sqlite3.Error; the file is then as it was.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = version_of(connection)
        if version == 0:
            _run(connection, _CREATE_2)
            connection.execute("INSERT INTO about VALUES ('pedal_uid', ?)", (uuid.uuid4().hex,))
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        elif version == 1:
            about = "CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;"
            _run(connection, _FROM_1.format(create=_CREATE_2.replace(about, "")))
        if version < VERSION:
            _run(connection, _FROM_2)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        connection.rollback()
        raise


def version_of(connection: sqlite3.Connection) -> int:
    """The file's schema version, 0 for an empty one; raises `NewerFileError` or `ForeignFileError`.

    Reads the header and the text of the schema, and runs nothing that stands in it.
    """
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    owner = int(connection.execute("PRAGMA application_id").fetchone()[0])
    tables = int(connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0])
    if owner != APPLICATION_ID and (owner or version or tables):
        raise ForeignFileError
    if version > VERSION:
        raise NewerFileError(version)
    if _shape_of(connection) != _shape_of_version(version):
        raise MisshapenFileError
    return version


def look_at_version_2_as_3(connection: sqlite3.Connection) -> None:
    """Lay a view over the entries of a version 2 file that only this connection sees: what is new is null."""
    added = ", ".join(f"NULL AS {column.split()[0]}" for column in ADDED_IN_3)
    connection.execute(f"CREATE TEMP VIEW entry AS SELECT *, {added} FROM main.entry")  # noqa: S608 (constants)


def _shape_of(connection: sqlite3.Connection) -> set[tuple[str, str, str, str]]:
    """Tables, views, indices and triggers with their SQL, but for SQLite's own, whose names nobody else can give."""
    found = connection.execute(
        "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite!_%' ESCAPE '!'"
    )
    return {(kind, name, table, _bare(sql or "")) for kind, name, table, sql in found}


@cache
def _shape_of_version(version: int) -> set[tuple[str, str, str, str]]:
    """The shape of an own file; empty for version 0."""
    if version == 0:
        return set()
    pattern = sqlite3.connect(":memory:", isolation_level=None)
    try:
        _run(pattern, _CREATE_1 if version == 1 else _CREATE_2)
        if version == VERSION:
            _run(pattern, _FROM_2)
        return _shape_of(pattern)
    finally:
        pattern.close()


def _bare(sql: str) -> str:
    """SQL without comments, quotes and line breaks: a table that was renamed is written a little otherwise."""
    return " ".join(re.sub(r"--[^\n]*", "", sql).replace('"', "").split())


def _run(connection: sqlite3.Connection, script: str) -> None:
    """Every statement, inside the transaction that is open (`executescript` would commit it first)."""
    waiting = ""
    for line in script.splitlines(keepends=True):
        waiting += line
        if sqlite3.complete_statement(waiting):
            connection.execute(waiting)
            waiting = ""
