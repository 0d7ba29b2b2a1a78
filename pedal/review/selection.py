"""Which sessions and notes of a log a review is about."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from math import inf

from pedal.errors import UsageError
from pedal.log.reader import Session
from pedal.progress.logged_note import LoggedNote, skill_of, target_name
from pedal.progress.naming import folded
from pedal.theory.scale import KeyNameError, parse_key
from pedal.values import frozen

_DAYS = re.compile(r"([0-9]{1,6})d")
_DAY_S = 86400.0
_UID_LETTERS = 4


Words = tuple[str, str, str | None, str | None, str | None]
"""kind, verdict, degree, target_degree, target_note of a note."""


@frozen
class Selection:
    """What was asked for; None where everything is wanted. `session` is a number of the list, -1 the last one."""

    since_s: float | None = None
    session: int | None = None
    key: str | None = None
    target: str | None = None
    player: str | None = None

    def takes(self, key: str, words: Words) -> bool:
        """Whether a note with these words counts; a target is a name of the table, degrees, or a note name."""
        if self.key is not None and key != self.key:
            return False
        if self.target is None:
            return True
        target = self.target.replace("♭", "b").replace("♯", "#")  # as the tables print it
        wanted = target.replace("->", "→").replace("-", "→") if "→" not in target else target
        kind, verdict, degree, target_degree, target_note = words
        name = target_name(skill_of(kind, verdict), degree, target_degree)
        way = f"{degree}→{target_degree}" if name else ""
        return bool({wanted, target} & {name, way, f"pre-bend {way}" if "pre-bend" in name else way,
                                             target_note, target_degree})  # fmt: skip


def parse_since(words: str, *, now_s: float) -> float:
    """Seconds since 1970 of "2026-11-01" (midnight here) or "30d" (so many days ago); raises `UsageError`."""
    if match := _DAYS.fullmatch(words):
        return now_s - int(match[1]) * _DAY_S
    try:
        return datetime.fromisoformat(words).timestamp()
    except (ValueError, OverflowError) as fault:
        raise UsageError(f"--since {words!r} is no date: give one such as 2026-11-01, or days such as 30d") from fault


def parse_key_words(words: str) -> str:
    """The key as the log writes it; raises `UsageError`."""
    try:
        return str(parse_key(words))
    except KeyNameError as fault:
        raise UsageError(f"--key: {fault}") from fault


def in_order(sessions: Sequence[Session]) -> list[Session]:
    """Sessions as they were played: those of one pedal by its counter, and the pedals merged by the dates believed.

    A session whose clock is doubted stands beside the next believed one of its pedal, else the one before. A pedal
    without a believed date comes first.
    """
    by_counter = sorted(sessions, key=lambda session: (session.counter, session.id))
    latest: dict[str, float] = {}
    known: dict[int, float] = {}
    for one in by_counter:
        if not one.wall_doubtful:
            known[one.id] = latest[one.pedal_uid] = max(one.begun_wall_s, latest.get(one.pedal_uid, -inf))
    following = latest  # of the last ones, which nothing follows, it is the date before them
    for one in reversed(by_counter):
        following[one.pedal_uid] = known.setdefault(one.id, following.get(one.pedal_uid, -inf))
    return sorted(by_counter, key=lambda session: (known[session.id], session.pedal_uid))


def chosen_sessions(sessions: Sequence[Session], choice: Selection) -> list[Session]:
    """The sessions a review is about, in the order they were played; raises `UsageError` for one that is not there.

    A session whose clock is doubted counts as "since" a date if an earlier one of its pedal does: order is certain,
    whoever played. The last session is the last one of what else was chosen.
    """
    chosen = in_order(sessions)
    if choice.since_s is not None:
        chosen = _since(chosen, choice.since_s)
    if choice.player is not None:
        shown = names_shown(sessions)
        chosen = [session for session in chosen if _is_of(session, choice.player, shown)]
    return chosen if choice.session is None else _the_session(sessions, chosen, choice.session)


def same_player(one: str, other: str) -> bool:
    """Names are told apart as people do: "Ann" and " ann" are one."""
    return folded(one) == folded(other)


def names_shown(sessions: Sequence[Session]) -> dict[int, str]:
    """Who played each session, by its id: their name, "" where they have none.

    Two pedals whose players have no names are two players: "nameless pedal 025d", by as much of its uid as tells it
    from the others.
    """
    uids = {session.pedal_uid for session in sessions if not folded(session.player)}
    letters = _UID_LETTERS
    while len({uid[:letters] for uid in uids}) < len(uids):
        letters += 1
    nameless = {uid: f"nameless pedal {uid[:letters]}" if len(uids) > 1 else "" for uid in uids}
    return {one.id: one.player if folded(one.player) else nameless[one.pedal_uid] for one in sessions}


def _is_of(session: Session, player: str, shown: dict[int, str]) -> bool:
    return same_player(session.player, player) or same_player(shown[session.id], player)


def stranger_words(sessions: Sequence[Session], choice: Selection) -> str:
    """That nobody of the name asked for has played, and who has; "" where somebody did, or nobody was asked for."""
    shown = names_shown(sessions)
    if choice.player is None or not sessions or any(_is_of(one, choice.player, shown) for one in sessions):
        return ""
    names = sorted({folded(name): name for name in shown.values() if name}.values())
    return f"no session is of {choice.player!r}: the log knows {', '.join(names) or 'no names of players'}"


def fits(note: LoggedNote, choice: Selection) -> bool:
    """Whether a note is of the key and target asked for."""
    judged = note.verdict
    words = (judged.kind, judged.verdict, judged.degree, judged.target_degree, judged.target_note)
    return choice.takes(note.key, words)


def _the_session(sessions: Sequence[Session], chosen: Sequence[Session], number: int) -> list[Session]:
    """The session of that number among the chosen ones; none where it is not of them, or there are none of them."""
    narrowed = len(chosen) < len(sessions)
    if number < 0:
        if -number <= len(chosen):
            return [chosen[number]]
        if narrowed:
            if not chosen:
                return []
            raise UsageError(f"--session {number} is more than the {len(chosen)} that were chosen: -1 is the last one")
    elif any(session.id == number for session in sessions):
        return [session for session in chosen if session.id == number]
    raise UsageError(f"--session {number} is not in the log, which holds {len(sessions)}: -1 is the last one")


def _since(ordered: Sequence[Session], since_s: float) -> list[Session]:
    begun: dict[str, int] = {}
    for session in ordered:
        if not session.wall_doubtful and session.begun_wall_s >= since_s:
            begun[session.pedal_uid] = min(session.counter, begun.get(session.pedal_uid, session.counter))
    return [s for s in ordered if s.pedal_uid in begun and s.counter >= begun[s.pedal_uid]]
