"""A log and a homework -> how far it has come."""

from __future__ import annotations

from pathlib import Path

from pedal.log import StoreReader
from pedal.modes.assignments import count_entries
from pedal.practice.homework import Homework, Progress


def progress_over(log: Path, homework: Homework) -> Progress:
    """True tries of all sessions since the homework's day, which is in seconds since 1970; raises `StoreError`.

    A session whose clock is doubted counts: better a try too many than none of an evening.
    """
    progress = Progress(homework)
    with StoreReader(log) as reader:
        for session in reader.sessions():
            if not session.wall_doubtful and session.begun_wall_s + session.length_s < homework.since_s:
                continue
            begun_s = float("inf") if session.wall_doubtful else session.begun_wall_s
            count_entries(progress, reader.entries_from(session, begun_s=begun_s))
    return progress
