"""The log of earlier days -> what the order by need may know of them, on the clock of this session."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pedal.errors import StoreError
from pedal.log import StoreReader
from pedal.log.reader import Session
from pedal.log.wall_clock import RELEASE_S
from pedal.modes.log_entry import LogEntry
from pedal.progress.lookback import Lookback, look_back
from pedal.progress.naming import folded
from pedal.progress.tries import Gathering
from pedal.values import frozen
from pedal.verdicts.aim import Bands

MOST_SESSIONS = 20
_DAY_S = 86_400.0
_JUST_BEFORE_S = -0.001
"""Nothing of the past is later, whatever its clock says: what is not before now is of this session."""


def entries_before(log: Path, *, now_wall_s: float) -> list[LogEntry]:
    """Entries of the newest sessions, the oldest session first, `time_s` negative; none where there is no log to read.

    What came from other pedals crowds out nothing that was played on this one: as many of them are read beside. A
    session whose wall clock is doubtful, or lies ahead of now, counts as one a day before the next one of its pedal.
    """
    try:
        with StoreReader(log) as reader:
            sittings = _sittings(reader)
            here, elsewhere = ([one.id for one in sittings if one.here is where] for where in (True, False))
            newest = (*here[-MOST_SESSIONS:], *elsewhere[-MOST_SESSIONS:])
            begun = _begins(reader.sessions(newest), now_wall_s)
            past = (entry for begun_s, session in begun for entry in reader.entries_from(session, begun_s=begun_s))
            return [replace(entry, time_s=min(entry.time_s, _JUST_BEFORE_S)) for entry in past]
    except StoreError:
        return []


@frozen
class _Sitting:
    """A session that says something of who plays here; `player` folded, `here` where it was played on this pedal."""

    id: int
    player: str
    here: bool


def _sittings(reader: StoreReader) -> list[_Sitting]:
    """In order of arrival; what nobody named played on another pedal is nobody's past here."""
    own_uid = reader.pedal_uid()
    found = [_Sitting(id_, folded(player), pedal_uid == own_uid) for id_, player, pedal_uid in reader.players()]
    return [one for one in found if one.player or one.here]


def _begins(sessions: list[Session], now_wall_s: float) -> list[tuple[float, Session]]:
    """When each began, in seconds from now, and the session, the oldest first.

    Each pedal by its own counter: what was taken in from another came into this file later than it was played.
    """
    found: list[tuple[float, Session]] = []
    next_s: dict[str, float] = {}
    for session in sorted(sessions, key=lambda one: one.counter, reverse=True):
        begun_s = session.begun_wall_s - now_wall_s
        if session.wall_doubtful or begun_s > 0.0:
            begun_s = next_s.get(session.pedal_uid, 0.0) - _DAY_S - session.length_s
        next_s[session.pedal_uid] = begun_s
        found.append((begun_s, session))
    return sorted(found, key=lambda pair: (pair[0], pair[1].id))


def counts_from_s(since_s: float, *, came_s: float, now_wall_s: float) -> float:
    """From when tries count for a homework that came here at `came_s`; all in seconds since 1970 on this clock.

    A pedal without a network is behind by months, and a day that a teacher wrote would never come: a day ahead of the
    clock counts from when the homework came. Where the clock was not even right by then, nobody knows when that was,
    and all that was played counts: better a try too many than none of an evening.
    """
    if since_s <= now_wall_s:
        return since_s
    return float("-inf") if now_wall_s < max(RELEASE_S, came_s) else came_s


MONTH_S = 30 * _DAY_S
LOOKED_AT = 60
"""A player's sessions of a month that are looked at: two a day."""


def looks_back(log: Path, *, now_wall_s: float, player: str, bands: Bands | None = None) -> tuple[Lookback, ...]:
    """What the last session and the last 30 days say of a player; nothing where there is no log to read.

    player : "" for a guest, or where no player has a name: sessions of nobody named on this pedal, and no others.
    bands : the player's own; the pedal's first ones if None.

    A session whose clock is doubted is left out of the month: nobody knows when it was.
    """
    try:
        with StoreReader(log) as reader:
            played = [one.id for one in _sittings(reader) if one.player == folded(player)]
            sessions = [session for session in reader.sessions(played[-LOOKED_AT:]) if session.entries]
            own = [one for _, one in _begins(sessions, now_wall_s)]
            if not own:
                return ()
            since_s = now_wall_s - MONTH_S
            month = [one for one in own if not one.wall_doubtful and since_s <= one.begun_wall_s <= now_wall_s]
            looks = [_look(reader, "last session", own[-1:], bands)]
            return (*looks, _look(reader, "last month", month, bands)) if len(month) > 1 else tuple(looks)
    except StoreError:
        return ()


def _look(reader: StoreReader, title: str, sessions: list[Session], bands: Bands | None) -> Lookback:
    gathering = Gathering(reader.settings())
    for order, session in enumerate(sessions, 1):
        for rows in reader.judged(session.id):
            gathering.add(order, rows)
    return look_back(title, gathering.tries(), sessions=len(sessions), bands=bands)
