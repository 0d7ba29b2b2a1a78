"""Which tries count for a homework that begins on a day: in the review as on the pedal, each by when it was played."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedal.live.past import entries_before
from pedal.log import open_store
from pedal.modes.assignments import count_entries
from pedal.modes.log_entry import LogEntry
from pedal.practice.homework import Homework, Progress, Task
from pedal.review.homework import progress_over
from tests.log.conftest import BENT

MIDNIGHT_S = 1_790_000_000.0
NOW_S = MIDNIGHT_S + 86_400.0
TASK = Task("bend", 2, 6, 2, 9)
TRUE = LogEntry(0.0, "ladder", "G minor pentatonic", replace(BENT, verdict="true"), 1, 2, 6, "G4")


def a_log(path: Path, begun_s: float, *after_s: float, clock_set: bool = True) -> Path:
    """True tries of the bend, so many seconds after the pedal was switched on."""
    now = {"s": 0.0}
    store = open_store(path, wall=lambda: now["s"] + (begun_s if clock_set else 0.0), monotonic=lambda: now["s"])
    for now["s"] in after_s:
        store.append([replace(TRUE, time_s=now["s"])])
    store.close()
    return path


@pytest.mark.parametrize(
    ("minutes", "counted"),
    [((-30, -20, -10), 0), ((-30, -20, 10), 1), ((-30, 10, 20), 2), ((10, 20, 30), 3)],
    ids=["before", "ends after", "begins before", "after"],
)
def test_a_session_over_midnight_counts_from_midnight_on_in_the_review_as_on_the_pedal(
    tmp_path: Path, minutes: tuple[int, ...], counted: int
) -> None:
    on_s = MIDNIGHT_S - 3600.0
    log = a_log(tmp_path / "log.sqlite", on_s, *(3600.0 + 60.0 * minute for minute in minutes))
    assert progress_over(log, Homework((TASK,), since_s=MIDNIGHT_S)).true(TASK) == counted
    on_the_pedal = Progress(Homework((TASK,), since_s=MIDNIGHT_S - NOW_S))
    count_entries(on_the_pedal, entries_before(log, now_wall_s=NOW_S))
    assert on_the_pedal.true(TASK) == counted


def test_a_session_whose_clock_is_doubted_counts_in_the_review(tmp_path: Path) -> None:
    log = a_log(tmp_path / "log.sqlite", 0.0, 60.0, 120.0, clock_set=False)
    assert progress_over(log, Homework((TASK,), since_s=MIDNIGHT_S)).true(TASK) == 2
