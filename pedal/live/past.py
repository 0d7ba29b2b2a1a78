"""The log of earlier days -> what the order by need may know of them, on the clock of this session."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pedal.errors import StoreError
from pedal.log import StoreReader
from pedal.log.reader import Session
from pedal.modes.log_entry import LogEntry
from pedal.progress.lookback import Lookback, look_back
from pedal.progress.naming import folded
from pedal.progress.tries import Gathering

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
                player = session.player or None
                past = [
                    replace(entry, time_s=begun_s + entry.time_s - first_s, player=player) for entry in entries
                ] + past
            return past
    except StoreError:
        return []


MONTH_S = 30 * _DAY_S
LOOKED_AT = 60
"""Sessions of a month that are looked at: two a day."""


def looks_back(log: Path, *, now_wall_s: float, player: str = "") -> tuple[Lookback, ...]:
    """What the last session and the last 30 days say of a player; nothing where there is no log to read.

    player : "" for whoever played last.

    A session whose clock is doubted is left out of the month: nobody knows when it was.
    """
    try:
        with StoreReader(log) as reader:
            sessions = [session for session in reader.sessions(newest=LOOKED_AT) if session.entries]
            if not sessions:
                return ()
            wanted = folded(player or sessions[-1].player)
            own = [one for one in sessions if folded(one.player) == wanted]
            if not own:
                return ()
            since_s = now_wall_s - MONTH_S
            month = [one for one in own if not one.wall_doubtful and since_s <= one.begun_wall_s <= now_wall_s]
            looks = [_look(reader, "last session", own[-1:])]
            return (*looks, _look(reader, "last month", month)) if len(month) > 1 else tuple(looks)
    except StoreError:
        return ()


def _look(reader: StoreReader, title: str, sessions: list[Session]) -> Lookback:
    gathering = Gathering(reader.settings())
    for order, session in enumerate(sessions, 1):
        for rows in reader.judged(session.id):
            gathering.add(order, rows)
    return look_back(title, gathering.tries(), sessions=len(sessions))
