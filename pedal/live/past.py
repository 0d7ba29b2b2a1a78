"""The log of earlier days -> what the order by need may know of them, on the clock of this session."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pedal.errors import StoreError
from pedal.log import StoreReader
from pedal.modes.log_entry import LogEntry

MOST_SESSIONS = 20
_DAY_S = 86_400.0


def entries_before(log: Path, *, now_wall_s: float) -> list[LogEntry]:
    """Entries of the newest sessions, oldest first, `time_s` negative; none where there is no log to read.

    A session whose wall clock is doubtful, or lies ahead of now, counts as one a day before the next one.
    """
    try:
        with StoreReader(log) as reader:
            sessions = reader.sessions(newest=MOST_SESSIONS)
            past: list[LogEntry] = []
            latest_s = 0.0
            for session in reversed(sessions):
                begun_s = session.begun_wall_s - now_wall_s
                if session.wall_doubtful or begun_s + session.length_s > latest_s:
                    begun_s = latest_s - _DAY_S - session.length_s
                latest_s = begun_s
                entries = list(reader.entries(session.id))
                first_s = entries[0].time_s if entries else 0.0
                past = [replace(entry, time_s=begun_s + entry.time_s - first_s) for entry in entries] + past
            return past
    except StoreError:
        return []
