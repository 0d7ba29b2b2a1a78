"""A whole Round by a made-up player: force, heavy bends, rests, need and time, through the real board."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise, takewhile

import pytest

from bench.rounds import DAY_S, Asked, play
from pedal.modes.input_events import LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import RoundEndScreen
from pedal.modes.state import PedalState
from pedal.practice.item import Item
from pedal.synth.player import MadeUpPlayer
from pedal.theory.neck import Neck
from pedal.theory.scale import parse_key
from tests.grids import grid

# Written out, and not taken from the code, so that a change of it is seen.
HEAVY_MOST = 10


def a_round(place: PedalState, *, seed: int = 17, past: tuple[LogEntry, ...] = ()) -> tuple[Pedal, list[Asked], list]:
    pedal = Pedal(replace(place, mode="round"), {}, past)
    found = list(play(pedal, MadeUpPlayer(place.key, place.neck, seed=seed), begin_s=0.0))
    return pedal, [a for a in found if isinstance(a, Asked)], [e for e in found if isinstance(e, LogEntry)]


def tries(shown: list[Asked]) -> list[Item]:
    """What was asked when each note was struck, in order."""
    now, found = None, []
    for one in shown:
        if one.verdict is not None:
            found.append(now)
        now = one.what
    return [item for item in found if isinstance(item, Item)]


PLACES = [
    PedalState(),
    PedalState(position=3),
    PedalState(key=parse_key("A blues"), position=2),
    PedalState(key=parse_key("E major pentatonic"), position=4),
    PedalState(key=parse_key("C# minor"), position=1),
    PedalState(neck=Neck(capo=2), position=2),
]


ROUNDS = grid([5, 10, 20], {f"{place.key} {place.position}": place for place in PLACES}, each=3)
"""Each length at two places and each place at one length; `make soak` plays the others."""


@pytest.mark.parametrize(("minutes", "place"), ROUNDS)
def test_a_round_holds_what_it_promises(minutes: int, place: PedalState) -> None:
    pedal, shown, entries = a_round(replace(place, round_minutes=minutes))
    end_s = next(one.at_s for one in shown if one.what == "end")
    assert abs(end_s - 60 * minutes) <= 15, f"ended at {end_s:.0f} s of {60 * minutes}"
    assert entries

    items = [one.what for one in shown if isinstance(one.what, Item) and one.what.part != "between"]
    for part, run in groupby(items, key=lambda item: item.part):
        forces = [item.force_n for item in run]
        assert all(a <= b for a, b in pairwise(forces)), f"{part}: {forces}"

    struck = tries(shown)
    assert not any(a.heavy and b.heavy for a, b in pairwise(struck)), "two heavy bends in a row"
    assert sum(item.heavy for item in struck) <= HEAVY_MOST
    assert all(item.part in ("plain", "curl", "half") for item in struck[:5]), "it begins easy"

    rests = [a.at_s for a in shown if a.what == "rest"]
    assert len(rests) in {5: (1,), 10: (2, 3), 20: (5, 6)}[minutes]
    assert all(150 <= b - a <= 240 for a, b in pairwise([0.0, *rests]))
    for step in range(20):  # the last verdict has its time
        pedal.step(LivePitch(end_s + 0.1 * step, 0.0, -80.0))
    assert isinstance(pedal.screen(), RoundEndScreen)
    assert [title for title, _, _ in pedal.screen().lines] == ["well", "tomorrow", "rest"]


def test_an_item_stays_until_it_was_true_three_times_or_missed_five() -> None:
    _, shown, _ = a_round(PedalState(position=3))
    for item, run in groupby(tries(shown), key=lambda item: item.name):
        count = len(list(run))
        assert count <= 7, item
    answers: dict[tuple, list[str]] = {}
    now, visit = None, 0
    for one in shown:
        if one.verdict is not None and isinstance(now, Item) and now.part in ("bend", "curl"):
            answers.setdefault((visit, now.name), []).append(one.verdict.verdict)
        if one.what != now and not (isinstance(one.what, Item) and one.what.part == "between"):
            visit += not (isinstance(now, Item) and now.part == "between")
            now = one.what
    done = [words for words in answers.values() if words.count("true") == 3 or len(words) - words.count("true") == 5]
    assert len(done) >= len(answers) - 4, "all but those that the time of a part ended"


@pytest.mark.parametrize("most", [0, 1, 4])
def test_the_ceiling_holds_whatever_it_is(most: int) -> None:
    _, shown, _ = a_round(PedalState(heavy_most=most))
    assert sum(item.heavy for item in tries(shown)) == most


def test_heavy_bends_of_the_hour_before_count_and_those_of_yesterday_do_not() -> None:
    _, shown, entries = a_round(PedalState())
    heavy = sum(item.heavy for item in tries(shown))
    assert heavy == HEAVY_MOST
    just_before = tuple(replace(entry, time_s=entry.time_s - 700.0) for entry in entries)
    _, again, _ = a_round(PedalState(), past=just_before)
    assert sum(item.heavy for item in tries(again)) == 0
    yesterday = tuple(replace(entry, time_s=entry.time_s - DAY_S) for entry in entries)
    _, tomorrow, _ = a_round(PedalState(), past=yesterday)
    assert sum(item.heavy for item in tries(tomorrow)) == HEAVY_MOST


def test_heavy_bends_of_ladder_count_against_the_ceiling() -> None:
    heavy = next(rung for rung in PedalState().rungs() if rung.support.endswith("heavy"))
    _, _, entries = a_round(PedalState())
    like = next(e for e in entries if e.verdict)
    past = tuple(replace(like, mode="ladder", time_s=-60.0 - n, string=heavy.string, fret=heavy.fret,
                         target_note=heavy.target) for n in range(HEAVY_MOST))  # fmt: skip
    _, shown, _ = a_round(PedalState(), past=past)
    assert sum(item.heavy for item in tries(shown)) == 0


@pytest.mark.parametrize("which", [slice(0, 3), slice(-3, None)], ids=["the lightest", "the heaviest"])
def test_what_needs_it_is_asked_for_and_what_is_known_to_be_good_gives_way(which: slice) -> None:
    """In five minutes not all fit: those that came out 40 cents flat yesterday are there, and good ones are not."""
    place = PedalState(position=5, round_minutes=5)
    _, _, entries = a_round(place)
    like = next(e for e in entries if e.verdict and e.verdict.kind == "bend")
    bends = [item for item in place.items() if item.part == "bend" and not item.heavy]
    bad = {item.name for item in bends[which]}
    past = tuple(
        replace(like, mode="ladder", time_s=-DAY_S + n, string=item.string, fret=item.fret, target_note=item.target,
                verdict=replace(like.verdict, error_cents=-40.0 if item.name in bad else 0.0))
        for item in bends for n in range(4)
    )  # fmt: skip
    _, shown, _ = a_round(place, past=past)
    asked = takewhile(lambda item: item.part != "prebend", (a.what for a in shown if isinstance(a.what, Item)))
    first_lap = {item.name for item in asked if item.part == "bend"}
    assert bad <= first_lap
    assert not {item.name for item in bends} <= first_lap, "some were passed over"


def test_the_few_heavy_bends_go_to_the_one_that_needs_them_most() -> None:
    place = PedalState(round_minutes=5)
    _, _, entries = a_round(place)
    like = next(e for e in entries if e.verdict and e.verdict.kind == "bend")
    heavy = [item for item in place.items() if item.part == "bend" and item.heavy]
    worst = heavy[-1]
    past = tuple(
        replace(like, mode="ladder", time_s=-DAY_S + n, string=item.string, fret=item.fret, target_note=item.target,
                verdict=replace(like.verdict, error_cents=-60.0 if item is worst else 0.0))
        for item in heavy for n in range(4)
    )  # fmt: skip
    _, shown, _ = a_round(place, past=past)
    asked = {item.name for item in tries(shown) if item.heavy and item.part == "bend"}
    assert worst.name in asked
    assert len(asked) <= 2


def test_what_was_crossed_off_is_not_asked_for() -> None:
    place = PedalState(position=3)
    off = frozenset(Crossing(i.string, i.fret, i.semitones) for i in place.items() if i.part == "bend")
    _, shown, _ = a_round(replace(place, crossed_off=off))
    assert not [item for item in tries(shown) if item.part in ("bend", "prebend")]
    assert [item for item in tries(shown) if item.part == "half"]
    assert any(one.what == "end" for one in shown)


def test_no_bend_is_offered_that_the_strings_do_not_bear() -> None:
    items = PedalState().items()
    assert not [i for i in items if i.part == "bend" and (i.string, i.fret) == (1, 3)], "21 N: not with this set"
    assert {i.part for i in items} == {"plain", "curl", "half", "bend", "prebend"}
    assert all(i.force_n < 6.0 for i in items if i.part == "half"), "the warm-up's half steps are light"


@pytest.mark.parametrize("key", ["G minor pentatonic", "A blues", "C minor pentatonic", "E minor", "D dorian"])
def test_every_position_has_a_light_bend_to_warm_up_with(key: str) -> None:
    place = PedalState(key=parse_key(key))
    for number in place.held_positions():
        light = [i for i in replace(place, position=number).items() if i.part in ("half", "curl") and i.force_n < 6.0]
        assert light, f"{key}, position {number}"


def test_a_round_goes_on_after_a_power_cut_where_it_was() -> None:
    """The memory is what the disk holds: written at every try, and read by a new board."""
    place = PedalState(mode="round")
    pedal = Pedal(place)
    player = MadeUpPlayer(place.key)
    shown = []
    for one in play(pedal, player, begin_s=0.0):
        shown.append(one)
        if isinstance(one, LogEntry) and len(shown) > 120:
            break
    before, memory = pedal.asked, pedal.memory()
    assert isinstance(before, Item)
    again = Pedal(place, memory)
    assert isinstance(again.asked, Item)
    assert again.asked.name == before.name or before.part == "between"
    assert again.screen().paused
    assert again.screen().minutes_left == pedal.screen().minutes_left
    for step in range(300):
        again.step(LivePitch(0.1 * step, 0.0, -80.0))
    assert again.memory()["round"] == Pedal(place, memory).memory()["round"], "its time stands until somebody plays"


@pytest.mark.parametrize("words", ["", "{", "[]", '{"minutes":10}', "null", '{"minutes":1e999}', 7, None])
def test_a_damaged_memory_of_a_round_changes_nothing(words: object) -> None:
    pedal = Pedal(PedalState(mode="round"), {"round": words})
    assert pedal.asked is None
