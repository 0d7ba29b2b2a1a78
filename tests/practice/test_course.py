"""The way through a Round by its rules alone: when an item, a part, a rest and the whole are over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from pedal.practice.course import Course, State
from pedal.practice.item import Item, Part

# Written out, and not taken from the code, so that a change of it is seen.
GRACE_S, REST_EVERY_S = 8.0, 150.0

PARTS: tuple[Part, ...] = ("plain", "curl", "half", "bend", "prebend")


def item(part: Part, fret: int, force_n: float = 0.0, *, heavy: bool = False) -> Item:
    return Item(part, 2, fret, 62, 64, "D", f"E{fret}", force_n, heavy=heavy)


LIGHT = tuple(item(part, fret, float(fret)) for part in PARTS for fret in (5, 6, 7))
REACH = item("between", 9)


def course(
    items: Iterable[Item] = LIGHT, *, minutes: int = 5, heavy_left: int = 10, state: State | None = None
) -> Course:
    return Course(
        state or State(minutes),
        list(items),
        need=lambda one: float(one.fret),
        heavy_left=lambda: heavy_left,
        between=lambda _: (REACH, REACH),
    )


HEAVY = tuple(item(part, fret, 20.0, heavy=True) for part in PARTS for fret in (12, 13))


# -- the end --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at_s", "sounding", "over"),
    [
        (299.9, False, False),
        (300.0, False, True),
        (300.0, True, False),
        (300.0 + GRACE_S - 0.1, True, False),
        (300.0 + GRACE_S, True, True),
    ],
)
def test_a_note_is_heard_to_its_end_but_not_for_ever(at_s: float, sounding: bool, over: bool) -> None:
    round_ = course()
    round_.tick(at_s, sounding=sounding)
    assert round_.over is over
    assert (round_.asked is None) is over


def test_time_never_runs_backwards() -> None:
    round_ = course()
    round_.tick(20.0, sounding=False)
    round_.tick(10.0, sounding=False)
    assert round_.left_s == 280.0


@pytest.mark.parametrize(("left_s", "over"), [(8.0, False), (7.9, True)])
def test_in_the_last_seconds_nothing_new_is_begun(left_s: float, over: bool) -> None:
    round_ = course()
    round_.state.rested_s = 300.0 - left_s  # no rest is due
    round_.tick(300.0 - left_s, sounding=False)
    round_.pass_over()
    assert round_.over is over


# -- rests ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at_s", "rests"), [(REST_EVERY_S - 0.1, False), (REST_EVERY_S, True), (225.0, True), (225.1, False)]
)
def test_a_rest_comes_in_time_and_not_where_too_little_would_follow(at_s: float, rests: bool) -> None:
    round_ = course()
    round_.tick(at_s, sounding=False)
    round_.pass_over()
    assert (round_.resting_s is not None) is rests
    if rests:
        assert round_.resting_s == 30.0
        assert round_.asked is None


def test_a_rest_is_over_by_itself_and_the_part_has_its_time_all_the_same() -> None:
    round_ = course()
    round_.tick(REST_EVERY_S, sounding=False)
    round_.pass_over()
    until_s = round_.state.until_s
    round_.tick(REST_EVERY_S + 29.9, sounding=False)
    assert round_.resting_s == pytest.approx(0.1)
    round_.state.until_s = until_s = 1000.0  # so that the part goes on and is seen to be moved
    round_.tick(REST_EVERY_S + 30.0, sounding=False)
    assert round_.resting_s is None
    assert round_.asked is not None
    assert round_.state.until_s == until_s + 30.0
    assert round_.state.rested_s == REST_EVERY_S + 30.0


def test_a_rest_cut_short_gives_back_only_what_was_rested() -> None:
    round_ = course()
    round_.tick(REST_EVERY_S, sounding=False)
    round_.pass_over()
    round_.state.until_s = 1000.0
    round_.tick(REST_EVERY_S + 12.0, sounding=False)
    round_.end_rest()
    assert round_.state.until_s == 1012.0


# -- one item -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("outcome", "tries"), [("true", 3), ("near", 5), ("missed", 5)])
def test_an_item_is_over_after_three_true_or_five_that_were_not(outcome: str, tries: int) -> None:
    round_ = course()
    first = round_.asked
    for _ in range(tries - 1):
        round_.tried(outcome)  # type: ignore[arg-type]
        assert round_.asked == first
    round_.tried(outcome)  # type: ignore[arg-type]
    assert round_.asked != first


@pytest.mark.parametrize(("after_s", "part"), [(-0.1, "plain"), (0.0, "curl"), (0.1, "curl")])
def test_an_item_whose_part_has_no_time_left_is_let_go_at_its_next_try(after_s: float, part: Part) -> None:
    round_ = course()
    first = round_.asked
    round_.tick(round_.state.until_s + after_s, sounding=True)
    assert round_.asked == first, "not in the middle of a try"
    round_.tried("true")
    assert round_.part == part


def test_a_quick_player_is_asked_for_easier_items_before_the_neediest() -> None:
    """Of ten curls the hardest is needed most; how many fit into the part is told by how long the last ones took."""
    asked = {}
    for each_s in (0.5, 25.0):
        round_ = course([item("plain", 5)] + [item("curl", fret, float(fret)) for fret in range(5, 15)], minutes=20)
        round_.tick(30.0, sounding=False)
        round_.pass_over()
        frets = []
        for _ in range(3):
            assert round_.item is not None
            frets.append(round_.item.fret)
            round_.tick(round_.state.elapsed_s + each_s, sounding=False)
            round_.pass_over()
        asked[each_s] = frets
    assert asked == {0.5: [7, 8, 9], 25.0: [7, 10, 12]}


def test_errors_are_kept_where_there_is_one() -> None:
    round_ = course()
    assert round_.item is not None
    name = round_.item.name
    round_.tried("near", -20.0)
    round_.tried("missed")
    round_.tried("true", 0.0)
    assert round_.state.history[name].errors == [-20.0, 0.0]
    assert round_.state.history[name].outcomes == ["near", "missed", "true"]


# -- heavy bends ----------------------------------------------------------------------------------------------------


def test_after_a_heavy_bend_fretted_notes_are_asked_for_until_they_are_true() -> None:
    round_ = course(HEAVY)
    heavy = round_.asked
    assert heavy is not None
    round_.tried("near")
    assert round_.asked == REACH
    round_.tried("true")
    assert round_.asked == REACH
    round_.tried("true")
    assert round_.asked == heavy
    assert round_.state.heavy == 1, "fretted notes are no heavy bends"


def test_a_fretted_note_that_does_not_come_is_let_go_after_two_misses() -> None:
    round_ = course(HEAVY)
    heavy = round_.asked
    round_.tried("near")
    round_.tried("missed")
    assert round_.asked == REACH
    round_.tried("missed")
    assert round_.asked == heavy


def test_with_the_ceiling_reached_a_heavy_bend_is_let_go() -> None:
    left = [1]
    round_ = Course(
        State(5), HEAVY + LIGHT, need=lambda one: 10.0 * one.heavy, heavy_left=lambda: left[0], between=lambda _: ()
    )
    for _ in LIGHT:
        if round_.item is None or round_.item.heavy:
            break
        round_.pass_over()
    heavy = round_.item
    assert heavy is not None
    assert heavy.heavy
    left[0] = 0
    round_.tried("near")
    assert round_.item != heavy


def test_a_strain_that_was_no_try_counts_once_and_rests_the_hand() -> None:
    round_ = course(HEAVY)
    round_.strained()
    assert (round_.state.heavy, round_.asked) == (1, REACH)
    round_.strained()
    assert round_.state.heavy == 1, "a fretted note is asked for: that one was not heavy"


def test_a_strain_at_the_ceiling_lets_the_item_go() -> None:
    left = [10]
    round_ = Course(State(5), HEAVY, need=lambda _: 0.0, heavy_left=lambda: left[0], between=lambda _: (REACH,))
    heavy, left[0] = round_.item, 0
    round_.strained()
    assert round_.item != heavy


def test_the_hand_is_rested_before_a_heavy_bend_that_follows_another() -> None:
    round_ = course(HEAVY)
    round_.strained()
    round_.pass_over()
    assert round_.item is not None
    assert round_.item.heavy
    assert round_.asked == REACH


def test_a_restart_in_front_of_a_heavy_bend_keeps_the_fretted_notes() -> None:
    before = course(HEAVY)
    before.tried("near")
    assert course(HEAVY, state=before.state).asked == REACH


@pytest.mark.parametrize(("items", "after_heavy"), [(LIGHT, True), (LIGHT, False), (HEAVY, False)])
def test_a_restart_elsewhere_asks_for_no_fretted_notes(items: tuple[Item, ...], after_heavy: bool) -> None:
    kept = State(5, elapsed_s=1.0, until_s=20.0, now=items[0].name, after_heavy=after_heavy)
    assert course(items, state=kept).asked == items[0]


# -- what changes on the way ----------------------------------------------------------------------------------------


def test_what_is_asked_for_stays_where_it_is_still_there() -> None:
    round_ = course()
    asked = round_.asked
    round_.change_items([one for one in LIGHT if one == asked or one.part != "plain"])
    assert round_.asked == asked
    round_.change_items([one for one in LIGHT if one != asked])
    assert round_.asked not in (None, asked)


def test_what_is_asked_for_takes_the_force_that_it_has_by_now() -> None:
    """A capo was set, or A4 moved, and the same bend is heavy."""
    round_ = course()
    heavier = [replace(one, force_n=one.force_n + 10.0, heavy=True) for one in LIGHT]
    round_.change_items(heavier)
    assert round_.asked == heavier[0]
    round_.tried("near")
    assert (round_.state.heavy, round_.asked) == (1, REACH)


def test_what_is_asked_for_goes_where_it_is_heavy_by_now_and_none_is_left() -> None:
    round_ = course(heavy_left=0)
    asked = round_.item
    assert asked is not None
    round_.change_items([replace(one, heavy=one == asked) for one in LIGHT])
    assert round_.item is not None
    assert round_.item.name != asked.name


def test_with_nothing_to_ask_for_it_is_over_and_does_not_search_for_ever() -> None:
    round_ = course()
    round_.change_items([])
    assert round_.over


def test_there_is_another_lap_where_time_is_left() -> None:
    round_ = course()
    parts = []
    for _ in range(40):
        if round_.over:
            break
        if not parts or parts[-1] != round_.part:
            parts.append(round_.part)
        round_.pass_over()
    assert parts[:9] == ["plain", "curl", "half", "bend", "prebend", "bend", "prebend", "curl", "bend"]


def test_within_a_part_force_never_falls() -> None:
    round_ = course([item("plain", 5, 1.0), item("plain", 9, 3.0), item("plain", 7, 2.0), item("bend", 5, 1.0)])
    forces = []
    for _ in range(3):
        assert round_.part == "plain"
        assert round_.item is not None
        forces.append(round_.item.force_n)
        round_.pass_over()
    assert forces == sorted(forces)
    assert forces


def test_a_part_has_its_share_of_the_time_that_the_rests_leave() -> None:
    """Five minutes hold one rest of half a minute; plain notes are 8 in a hundred of the rest."""
    assert course().state.until_s == pytest.approx(0.08 * (300.0 - 30.0))


def test_a_restart_in_an_added_lap_goes_on_there() -> None:
    kept = State(5, elapsed_s=200.0, at=9, until_s=250.0)
    assert course(state=kept).part == "prebend"
