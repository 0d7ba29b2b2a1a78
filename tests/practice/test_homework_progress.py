"""Which true tries count for a homework: of its player, from its beginning on, and no more than it wants."""

from __future__ import annotations

import pytest

from pedal.practice.homework import Homework, Progress, Task

BEND = Task("bend", 2, 6, 2, 3)


@pytest.mark.parametrize(
    ("time_s", "player", "counts"),
    [
        (99.9, "ann", False),
        (100.0, "ann", True),
        (100.1, "ann", True),
        (100.1, "Ann ", True),
        (100.1, "", False),
        (100.1, "bo", False),
    ],
)
def test_a_true_try_counts_from_the_beginning_on_and_for_its_player(time_s: float, player: str, counts: bool) -> None:
    progress = Progress(Homework((BEND,), player="ann", since_s=100.0))
    progress.count(BEND.spot, time_s=time_s, player=player)
    assert progress.true(BEND) == counts


@pytest.mark.parametrize(("tries", "true", "done"), [(0, 0, 0), (2, 2, 0), (3, 3, 1), (7, 3, 1)])
def test_a_task_is_done_when_it_was_true_often_enough(tries: int, true: int, done: int) -> None:
    progress = Progress(Homework((BEND,)))
    for _ in range(tries):
        progress.count(BEND.spot, time_s=0.0, player="anybody")
    assert (progress.true(BEND), progress.done) == (true, done)
