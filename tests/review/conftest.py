"""A log that holds an invented month, and the command as a player runs it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby
from pathlib import Path

import pytest

from pedal.cli.entry import main
from pedal.log import open_store
from tests.progress.invented_month import CLEAN, Habit, entries

FIRST_DAY_S = 1_793_500_800.0
DAY_S = 86_400.0
HABITS = CLEAN | {
    "b7→1": Habit(bias=-22.0, scatter=9.0),
    "b3 curl": Habit(bias=38.0, released=0.4),
    "pre-bend to 1": Habit(bias=6.0, scatter=14.0),
}


@pytest.fixture(scope="session")
def month(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """24 sessions, one a day, the sixth with a clock that was never set. Read it, never write to it."""
    path = tmp_path_factory.mktemp("month") / "log.sqlite"
    for session, day in groupby(entries(HABITS, seed=2, tries=4, traces=True), key=lambda pair: pair[0]):
        begun_s = 100.0 if session == 6 else FIRST_DAY_S + DAY_S * session
        store = open_store(
            path, player="Ann" if session % 2 else "Ben", wall=lambda begun_s=begun_s: begun_s, monotonic=lambda: 0.0
        )
        store.append([entry for _, entry in day])
        store.close()
    return path


@pytest.fixture
def review(month: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """`review("--since", "30d", log=path)`: status, what it printed, and what it complained of."""

    def run(*words: object, log: Path = month) -> tuple[int, str, str]:
        status = main(["review", "--log", str(log), *map(str, words)])
        said = capsys.readouterr()
        return status, said.out, said.err

    return run
