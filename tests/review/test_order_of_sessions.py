"""Which session comes after which, where a log holds those of several pedals and not every clock is believed."""

from __future__ import annotations

from itertools import permutations

import pytest

from pedal.log.reader import Session
from pedal.review.selection import in_order

DAY_S = 86_400.0


def session(name: str, day: float | None) -> Session:
    """ "a2" is the second of pedal a; None is a clock that was never set."""
    began_s = 100.0 if day is None else 1_790_000_000.0 + DAY_S * day
    return Session(ord(name[0]) * 100 + int(name[1]), name, name[0], int(name[1]), "", began_s, day is None, 4, 60.0)


@pytest.mark.parametrize(
    ("played", "order"),
    [
        ({"a1": 1, "b1": 2, "a2": 3, "b2": 4}, "a1 b1 a2 b2"),
        ({"z1": 1, "a1": 2, "z2": None, "z3": 3, "a2": 4}, "z1 a1 z2 z3 a2"),
        ({"a1": None, "a2": 5, "b1": 1, "b2": 6}, "b1 a1 a2 b2"),
        ({"a1": 1, "a2": None, "a3": None, "b1": 0, "b2": 4}, "b1 a1 a2 a3 b2"),
        ({"a1": 1, "b1": None, "b2": None, "a2": 2}, "b1 b2 a1 a2"),
        ({"a1": None, "a2": None}, "a1 a2"),
    ],
    ids=["all believed", "one in the middle", "the first", "the last ones", "a pedal without a date", "no date at all"],
)
def test_pedals_are_merged_by_the_dates_that_are_believed(played: dict[str, float | None], order: str) -> None:
    for arrived in permutations(session(name, day) for name, day in played.items()):
        assert " ".join(one.uid for one in in_order(arrived)) == order


def test_within_a_pedal_the_counter_is_the_order_whatever_the_dates_say() -> None:
    played = [session("a1", 5), session("a2", 3), session("a3", 6)]
    assert [one.uid for one in in_order(played[::-1])] == ["a1", "a2", "a3"]
