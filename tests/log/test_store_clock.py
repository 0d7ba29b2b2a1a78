"""The time of day is a hint: it is doubted where it was never set, went back, or jumped."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from pedal.errors import StoreError
from pedal.log import StoreReader, open_store
from pedal.log.reader import Session
from pedal.modes.log_entry import LogEntry
from pedal.settings.log_path import log_path

Build = Callable[..., LogEntry]
NOON_S = 1_790_000_000.0


class Clocks:
    """Two clocks moved by hand."""

    def __init__(self, wall_s: float) -> None:
        self.wall_s, self.running_s = wall_s, 50.0

    def pass_by(self, seconds: float, *, jump_s: float = 0.0) -> None:
        self.running_s += seconds
        self.wall_s += seconds + jump_s


def play(path: Path, clocks: Clocks, entry: LogEntry, *, jumps_s: tuple[float, ...] = (0.0, 0.0)) -> Session:
    """The session of one entry a minute, the wall clock jumping as told before each."""
    store = open_store(path, wall=lambda: clocks.wall_s, monotonic=lambda: clocks.running_s)
    for jump_s in jumps_s:
        clocks.pass_by(60.0, jump_s=jump_s)
        store.append([entry])
    store.close()
    with StoreReader(path) as log:
        return log.sessions()[-1]


def test_a_clock_that_runs_is_believed_and_a_session_begins_with_its_first_note(
    tmp_path: Path, an_entry: Build
) -> None:
    session = play(tmp_path / "log.sqlite", Clocks(NOON_S), an_entry())
    assert (session.begun_wall_s, session.wall_doubtful) == (NOON_S + 60.0, False)


@pytest.mark.parametrize(
    ("jump_s", "doubtful"), [(1.9, False), (-1.9, False), (2.1, True), (-2.1, True), (86400.0, True)]
)
def test_a_jump_is_doubted_and_the_later_time_taken(
    tmp_path: Path, an_entry: Build, jump_s: float, doubtful: bool
) -> None:
    session = play(tmp_path / "log.sqlite", Clocks(NOON_S), an_entry(), jumps_s=(0.0, jump_s, 0.0))
    assert session.wall_doubtful is doubtful
    assert session.begun_wall_s == pytest.approx(NOON_S + 60.0 + (jump_s if doubtful else 0.0), rel=0, abs=1e-3)


def test_a_clock_that_was_never_set_is_doubted(tmp_path: Path, an_entry: Build) -> None:
    assert play(tmp_path / "log.sqlite", Clocks(12.0), an_entry()).wall_doubtful


def test_a_clock_behind_an_earlier_session_is_doubted(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "log.sqlite"
    assert not play(path, Clocks(NOON_S), an_entry()).wall_doubtful
    assert play(path, Clocks(NOON_S - 3600), an_entry()).wall_doubtful
    assert not play(path, Clocks(NOON_S + 3600), an_entry()).wall_doubtful


class FullOnce:
    """A connection whose disk is full at one COMMIT, the one so many from now."""

    def __init__(self, connection: sqlite3.Connection, *, commits: int) -> None:
        self._connection, self._left = connection, commits

    def execute(self, statement: str, *values: object) -> sqlite3.Cursor:
        self._left -= statement == "COMMIT"
        if statement == "COMMIT" and self._left == 0:
            full = sqlite3.OperationalError("database or disk is full")
            full.sqlite_errorcode = sqlite3.SQLITE_FULL
            raise full
        return self._connection.execute(statement, *values)

    def __getattr__(self, name: str) -> object:
        return getattr(self._connection, name)


@pytest.mark.parametrize("jumps_s", [(0.0, 86_400.0, 0.0), (86_400.0, 0.0, 0.0)], ids=["later", "before all notes"])
@pytest.mark.parametrize("full_at", [1, 2])
def test_a_jump_is_told_though_the_batch_that_saw_it_had_to_be_given_again(
    tmp_path: Path, an_entry: Build, full_at: int, jumps_s: tuple[float, ...]
) -> None:
    path, clocks = tmp_path / "log.sqlite", Clocks(NOON_S)
    store = open_store(path, wall=lambda: clocks.wall_s, monotonic=lambda: clocks.running_s)
    store._connection = FullOnce(store._connection, commits=full_at)  # type: ignore[assignment]
    refused = 0
    for jump_s in jumps_s:
        clocks.pass_by(60.0, jump_s=jump_s)
        try:
            store.append([an_entry()])
        except StoreError:
            refused += 1
            store.append([an_entry()])
    store.close()
    with StoreReader(path) as log:
        (session,) = log.sessions()
    assert (refused, session.entries, session.wall_doubtful) == (1, 3, True)
    assert session.begun_wall_s == pytest.approx(NOON_S + 60.0 + 86_400.0, rel=0, abs=1e-3)


PLAYERS = ("Ann", "Ben", "Cal", "")


@pytest.mark.parametrize("at_once", [True, False], ids=["in one batch", "one after the other"])
@pytest.mark.parametrize(("earlier_s", "doubtful"), [(-3600.0, False), (3600.0, True)])
def test_every_player_of_a_run_is_believed_or_doubted_alike(
    tmp_path: Path, an_entry: Build, earlier_s: float, doubtful: bool, *, at_once: bool
) -> None:
    """Held against what was played before the run, and not against who played before them in it."""
    path, clocks = tmp_path / "log.sqlite", Clocks(NOON_S)
    play(path, Clocks(NOON_S + earlier_s), an_entry())
    store = open_store(path, wall=lambda: clocks.wall_s, monotonic=lambda: clocks.running_s)
    turns = [an_entry(player=name) for name in PLAYERS]
    for batch in [turns] if at_once else [[turn] for turn in turns]:
        clocks.pass_by(600.0)
        store.append(batch)
    store.close()
    with StoreReader(path) as log:
        sessions = log.sessions()[1:]
    assert [(one.player, one.wall_doubtful) for one in sessions] == [(name, doubtful) for name in PLAYERS]


@pytest.mark.parametrize(
    ("environ", "path"),
    [
        ({"STATE_DIRECTORY": "/var/lib/undertoe", "XDG_STATE_HOME": "/x"}, "/var/lib/undertoe/log.sqlite"),
        ({"STATE_DIRECTORY": "/var/lib/one:/var/lib/two"}, "/var/lib/one/log.sqlite"),
        ({"XDG_STATE_HOME": "/x/state", "HOME": "/home/ann"}, "/x/state/undertoe/log.sqlite"),
        ({"XDG_STATE_HOME": "relative", "HOME": "/home/ann"}, "/home/ann/.local/state/undertoe/log.sqlite"),
        ({"HOME": "/home/ann"}, "/home/ann/.local/state/undertoe/log.sqlite"),
    ],
)
def test_the_place_follows_the_platforms_convention(environ: dict[str, str], path: str) -> None:
    assert log_path(environ) == Path(path)
