"""What is remembered of a Round, and the line that says what went well, from made-up scores."""

from __future__ import annotations

import pytest

from pedal.practice.closing import closing_lines, mark_of
from pedal.practice.closing import words_of as words_of_item
from pedal.practice.course import State
from pedal.practice.item import Item, Part
from pedal.practice.score import Outcome, Score
from pedal.practice.state_words import state_of, words_of

LOW = Item("bend", 2, 6, 65, 67, "F", "G", 9.0)
HIGH = Item("bend", 2, 3, 62, 65, "D", "F", 11.0)


def well(low: list[Outcome], high: list[Outcome]) -> str:
    items = {one.name: one for one in (LOW, HIGH)}
    history = {LOW.name: Score(low), HIGH.name: Score(high)}
    return closing_lines(items, history, need=lambda _: 0.0, minutes=10, heavy_free_in_s=0.0)[0].whole


@pytest.mark.parametrize(
    ("low", "high", "line"),
    [
        (["true", "true"], ["true", "true", "near", "near", "near"], "bend F to G, 2/2 true"),  # the greater share
        (["true", "true"], ["true", "true", "true"], "bend D to F, 3/3 true"),  # the more of equals
        (["true", "true"], ["true", "true"], "bend D to F, 2/2 true"),  # what takes more force
        (["true"], ["true", "near"], "bend D to F, 1/2 true"),  # one try is no share
    ],
)
def test_praise_goes_to_the_greatest_share_true(low: list[Outcome], high: list[Outcome], line: str) -> None:
    assert well(low, high) == line


@pytest.mark.parametrize("now", [None, LOW.name])
@pytest.mark.parametrize("resting_until_s", [None, 180.0])
def test_what_is_asked_for_and_a_rest_are_remembered(now, resting_until_s) -> None:
    state = State(10, elapsed_s=151.0, at=3, now=now, resting_until_s=resting_until_s)
    assert state_of(words_of(state)) == state


@pytest.mark.parametrize(
    ("part", "note", "target", "lick", "mark", "words"),
    [
        ("plain", "C4", "C4", 0, "C4", "C4"),
        ("between", "C4", "C4", 0, "C4", "C4"),
        ("curl", "C4", "D4", 0, "C4~", "curl C4"),
        ("half", "C4", "D4", 0, "D4", "bend C4 to D4"),
        ("bend", "C4", "D4", 0, "D4", "bend C4 to D4"),
        ("prebend", "C4", "D4", 0, "D4", "pre-bend D4"),
        ("lick", "slow one", "slow one", 7, "lick 7", "lick slow one"),
    ],
)
def test_each_item_has_its_mark_and_its_words(
    part: Part, note: str, target: str, lick: int, mark: str, words: str
) -> None:
    item = Item(part, 2, 5, 60, 62, note, target, lick=lick)
    assert (mark_of(item), words_of_item(item)) == (mark, words)


@pytest.mark.parametrize(
    ("minutes", "free_in_s", "words"),
    [
        (0.1, 0.0, "rest the hand 1 min"),
        (10, 240.0, "rest the hand 4 min"),
        (10, 241.0, "rest the hand 4 min, heavy bends 5 min"),
        (10.1, 300.0, "rest the hand 5 min"),
        (5, 3600.0, "rest the hand 2 min, heavy bends 60 min"),
    ],
)
def test_how_long_the_hand_rests(minutes: float, free_in_s: float, words: str) -> None:
    lines = closing_lines({}, {}, need=lambda item: 0.0, minutes=minutes, heavy_free_in_s=free_in_s)
    assert lines[2].whole == words
    assert lines[2].short == words.removeprefix("rest the hand ").split(",")[0]
    assert [line.short for line in lines[:2]] == ["you came", "go on"]
