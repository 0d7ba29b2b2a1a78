"""The log stays below a bound: the oldest pitch traces go first, then the oldest sentences; verdicts never go.

Of each, what was taken in from elsewhere goes before anything that was played on this pedal.
"""

from __future__ import annotations

import sqlite3

MOST_BYTES = 900_000_000
"""Leaves room below 1 GB for the write-ahead file; the arithmetic stands in docs/log.md."""

_ENOUGH = 0.97
_ROWS_A_STEP = 500
_OWN = "(SELECT id FROM session WHERE pedal_uid = (SELECT value FROM about WHERE name = 'pedal_uid'))"
_TRACES = "DELETE FROM trace WHERE rowid IN (SELECT rowid FROM trace WHERE {} ORDER BY session, number LIMIT ?)"
_REASONS = (
    "UPDATE entry SET reason = NULL WHERE (session, number) IN "
    "(SELECT session, number FROM entry WHERE reason IS NOT NULL AND {} ORDER BY session, number LIMIT ?)"
)
_STEPS = tuple(
    step.format(whose) for step in (_TRACES, _REASONS) for whose in (f"session NOT IN {_OWN}", f"session IN {_OWN}")
)


def used_bytes(connection: sqlite3.Connection) -> int:
    """Bytes of pages in use; freed pages are filled again before the file grows."""
    names = ("page_count", "freelist_count", "page_size")
    pages, free, size = (int(connection.execute(f"PRAGMA {name}").fetchone()[0]) for name in names)
    return (pages - free) * size


def keep_below(connection: sqlite3.Connection, most_bytes: int) -> None:
    """Remove what matters least until the log is a little below `most_bytes`, a few hundred rows a transaction."""
    if used_bytes(connection) <= most_bytes:
        return
    for step in _STEPS:
        while used_bytes(connection) > _ENOUGH * most_bytes:
            if connection.execute(step, (_ROWS_A_STEP,)).rowcount == 0:
                break
