"""The count of heavy bends in an hour, at its edges."""

from __future__ import annotations

import pytest

from pedal.practice.load import Load


def counted(most: int, *times_s: float) -> Load:
    load = Load(most)
    for time_s in times_s:
        load.add(time_s)
    return load


@pytest.mark.parametrize(("now_s", "within"), [(3599.9, 2), (3600.0, 1), (3699.9, 1), (3700.0, 0)])
def test_a_bend_leaves_the_count_after_an_hour_and_not_before(now_s: float, within: int) -> None:
    assert counted(5, 0.0, 100.0).within(now_s) == within


@pytest.mark.parametrize(("most", "left"), [(0, 0), (1, 0), (2, 0), (3, 1), (10, 8)])
def test_what_is_left_is_the_ceiling_less_the_count_and_never_below_none(most: int, left: int) -> None:
    assert counted(most, 0.0, 100.0).left(200.0) == left


@pytest.mark.parametrize(
    ("most", "now_s", "free_in_s"),
    [
        (3, 200.0, 0.0),  # one may be played now
        (2, 200.0, 3400.0),  # when the first of two is an hour old
        (1, 200.0, 3500.0),  # when both are
        (1, 3650.0, 50.0),  # the first is forgotten
        (1, 3700.0, 0.0),
        (0, 200.0, 3600.0),  # never: an hour is said
    ],
)
def test_the_wait_is_until_enough_have_left_the_count(most: int, now_s: float, free_in_s: float) -> None:
    assert counted(most, 0.0, 100.0).free_in_s(now_s) == free_in_s


def test_bends_that_came_out_of_order_are_counted_by_their_time() -> None:
    assert counted(2, 100.0, 0.0).free_in_s(200.0) == 3400.0


def test_without_a_bend_there_is_no_wait() -> None:
    assert counted(0).free_in_s(0.0) == 0.0
