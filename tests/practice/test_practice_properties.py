"""What holds of a Round whatever its player does, of its memory at every moment, and of the count of heavy bends."""

from __future__ import annotations

import json
import math
from dataclasses import fields

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pedal.practice.course import MINUTES, Course, State
from pedal.practice.item import Item, lick_item
from pedal.practice.load import Load
from pedal.practice.score import Outcome
from pedal.practice.state_words import state_of, words_of

# Written out, and not taken from the code, so that a change of it is seen.
GRACE_S, WINDOW_S = 8.0, 3600.0

ITEMS = tuple(
    Item(part, 2, fret, 62, 64, "D4", "E4", force_n, heavy=force_n >= 12.0)
    for part in ("plain", "curl", "half", "bend", "prebend")
    for fret, force_n in enumerate((2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 12.5, 13.0, 14.0, 15.0), 1)
)
LICK = lick_item(7, "old gate", 55, heavy_bends=2)
REACH = Item("between", 2, 9, 62, 62, "D4", "D4")
DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("tick"), st.floats(0.0, 40.0), st.booleans()),
        st.tuples(st.just("tried"), st.sampled_from(["true", "near", "missed"]), st.none() | st.floats(-60.0, 60.0)),
        st.tuples(st.sampled_from(["strained", "pass_over", "end_rest", "fewer", "all"]), st.none(), st.none()),
    ),
    max_size=60,
)


class Player:
    """A Round, and the heavy bends that its player did in it."""

    def __init__(self, minutes: int, most: int, state: State | None = None) -> None:
        self.most, self.played = most, 0
        self.course = Course(
            state or State(minutes),
            [*ITEMS, LICK],
            need=lambda one: float(7 * one.fret % 12),
            heavy_left=lambda: max(0, self.most - self.played),
            between=lambda _: (REACH, REACH),
        )

    def do(self, deed: str, first: float | Outcome | None, second: bool | float | None) -> None:
        course, asked = self.course, self.course.asked
        if deed in ("tried", "strained") and asked is not None:
            self.played += max(asked.heavy_bends, int(asked.heavy))
        match deed:
            case "tick":
                course.tick(course.state.elapsed_s + float(first or 0.0), sounding=bool(second))
            case "tried":
                course.tried(first, second)  # type: ignore[arg-type]
            case "fewer" | "all":
                course.change_items([*ITEMS[::2]] if deed == "fewer" else [*ITEMS, LICK])
            case _:
                getattr(course, deed)()


SKIPS = st.integers(0, 40)
"""So many things are passed over first, or else hardly any player would come to the bends and the lick."""


@given(st.sampled_from(MINUTES), st.integers(0, 6), SKIPS, DEEDS)
@settings(max_examples=70, deadline=None)
def test_a_round_asks_rests_or_is_over_and_never_asks_for_more_than_the_hand_bears(
    minutes: int, most: int, skips: int, deeds: list[tuple]
) -> None:
    player = Player(minutes, most)
    part, force_n = None, -1.0
    for deed in [("pass_over", None, None)] * skips + deeds:
        before = player.course.left_s
        player.do(*deed)
        course = player.course
        assert course.left_s <= before, "time never runs backwards"
        assert (course.asked is not None) + (course.resting_s is not None) + course.over == 1
        asked = course.asked
        if asked is None or asked.part == "between":
            continue
        if deed[0] in ("tried", "strained", "pass_over"):
            assert max(asked.heavy_bends, int(asked.heavy)) <= max(0, most - player.played)
        now = (course.state.at, asked.part)
        assert now != part or asked.force_n >= force_n or deed[0] in ("fewer", "all"), "within a part it only rises"
        part, force_n = now, asked.force_n
    player.course.tick(60.0 * minutes + GRACE_S, sounding=True)
    assert player.course.over


@given(st.sampled_from(MINUTES), SKIPS, DEEDS)
@settings(max_examples=60, deadline=None)
def test_at_every_moment_the_words_of_a_round_bring_it_back(minutes: int, skips: int, deeds: list[tuple]) -> None:
    player = Player(minutes, 10)
    for deed in [("pass_over", None, None)] * skips + deeds:
        player.do(*deed)
    state = player.course.state
    words = words_of(state)
    if player.course.over:
        assert words == ""
        return
    again = state_of(words)
    assert words_of(again) == words, "written once more they are the same"
    for field in fields(State):
        kept, was = getattr(again, field.name), getattr(state, field.name)
        if isinstance(was, float):
            assert kept == pytest.approx(was, abs=0.051), field.name
        elif field.name not in ("score", "history"):
            assert kept == was, field.name
    assert again.score.outcomes == state.score.outcomes
    assert {name: score.outcomes for name, score in again.history.items()} == {
        name: score.outcomes for name, score in state.history.items()
    }
    there = Player(minutes, 10, again).course
    assert (there.over, there.item, there.resting_s is None) == (
        False, player.course.item, player.course.resting_s is None,
    )  # fmt: skip


TORN = (math.nan, math.inf, -math.inf, -1.0, 1e9, None, True, "bend")
VALUES = st.recursive(
    st.sampled_from(TORN) | st.integers(-5, 10**7) | st.floats() | st.text(max_size=6),
    lambda deeper: st.lists(deeper, max_size=4) | st.dictionaries(st.text(max_size=4), deeper, max_size=3),
    max_leaves=8,
)


@given(st.data())
@settings(max_examples=100, deadline=None)
def test_a_word_of_a_remembered_round_that_is_torn_is_refused_or_harmless(data: st.DataObject) -> None:
    player = Player(10, 10)
    for deed in data.draw(DEEDS):
        player.do(*deed)
    kept = json.loads(words_of(player.course.state) or words_of(State(10)))
    kept[data.draw(st.sampled_from(sorted(kept)))] = data.draw(VALUES)
    try:
        state = state_of(json.dumps(kept))
    except ValueError:
        return
    numbers = [getattr(state, field.name) for field in fields(State)]
    assert all(math.isfinite(number) and number >= 0.0 for number in numbers if isinstance(number, float))
    assert state.minutes in MINUTES
    course = Player(state.minutes, 10, state).course
    assert course.asked is None or isinstance(course.asked, Item)


@pytest.mark.parametrize(
    ("word", "bad", "good"),
    [
        ("elapsed_s", -0.1, 0.0),
        ("begun_s", -5, 5),
        ("elapsed_s", 10_000.1, 10_000),
        ("heavy", 1001, 1000),
        ("heavy", -1, 0),
        ("minutes", 7, 10),
        ("now", ["bend", 9, 5, "D4"], ["bend", 8, 5, "D4"]),
        ("now", ["bend", 2, 37, "D4"], ["bend", 2, 36, "D4"]),
        ("now", ["bend", 2, 5, "toolong"], ["bend", 2, 5, "Bbb-1"]),
    ],
)
def test_a_word_of_a_remembered_round_beyond_its_bounds_is_refused(word: str, bad: object, good: object) -> None:
    kept = json.loads(words_of(State(10)))
    state_of(json.dumps({**kept, word: good}))
    with pytest.raises(ValueError):
        state_of(json.dumps({**kept, word: bad}))


@given(st.text(max_size=80))
@example(words_of(State(10)))
def test_any_text_is_a_remembered_round_or_refused(words: str) -> None:
    try:
        state = state_of(words)
    except ValueError:  # and nothing else
        return
    assert state_of(words_of(state)) == state


TIMES = st.lists(st.integers(-1000, 3000), max_size=30)


@given(st.integers(0, 12), TIMES, st.integers(0, 4000))
def test_when_the_wait_for_a_heavy_bend_is_over_one_may_be_asked_for(
    most: int, times_s: list[int], later_s: int
) -> None:
    now_s = max([0, *times_s]) + later_s
    load = Load(most)
    for time_s in times_s:
        load.add(time_s)
    assert load.left(now_s) == max(0, most - load.within(now_s))
    wait_s = load.free_in_s(now_s)
    assert 0.0 <= wait_s <= WINDOW_S
    assert (wait_s == 0.0) == (load.left(now_s) > 0 or not times_s)
    if most:
        assert load.left(now_s + wait_s) > 0


def test_the_strategy_comes_as_far_as_a_rest_and_a_lick() -> None:
    """Else the properties above would say little: every part is reached by doing what they do."""
    player, seen = Player(10, 100), set()
    for _ in range(400):
        asked = player.course.asked
        seen.add("rest" if asked is None else asked.part)
        if player.course.over:
            break
        player.do("tick", 6.0, False)
        player.do("tried", "true", 1.0)
    assert {"plain", "curl", "half", "bend", "prebend", "between", "lick", "rest"} <= seen
