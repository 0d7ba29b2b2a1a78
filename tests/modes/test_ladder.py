"""Ladder: twelve rungs, try or skip, and the summary."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_pedal, a_verdict, ended, live, play, press

from pedal.modes.ladder import LAST_VERDICT_S
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import LadderScreen, LadderSummaryScreen, MessageScreen
from pedal.notes.event import Onset
from pedal.theory.effort import Rig
from pedal.theory.neck import Neck, parse_tuning
from pedal.theory.scale import parse_key
from pedal.theory.strings import parse_string_set
from pedal.verdicts.aim import Target


def climb(pedal: Pedal, error_cents: float = 0.0, word: str = "true") -> list:
    """Bend the rung that is asked for."""
    rung = pedal.screen()
    return play(
        pedal,
        *ended(a_verdict(rest_note=rung.note, target_note=rung.target, error_cents=error_cents, verdict=word)),
    )


def test_the_first_rung_is_the_lowest_bend_of_the_position():
    pedal = a_pedal(mode="ladder", position=1)
    screen = pedal.screen()
    assert isinstance(screen, LadderScreen)
    assert (screen.string, screen.fret, screen.note, screen.target, len(screen.rungs)) == (6, 3, "G2", "Bb2", 12)
    assert screen.support
    assert screen.picture.target_cents == 300.0
    assert pedal.aim.target == Target(43, 46)
    assert pedal.aim.judge_as == "ladder"


def test_a_try_marks_the_rung_logs_it_and_shows_the_next():
    pedal = a_pedal(mode="ladder")
    entries = climb(pedal, -31.0, "flat")
    assert [(e.mode, e.position, e.string, e.fret, e.target_note, e.skipped) for e in entries] == [
        ("ladder", 1, 6, 3, "Bb2", False)
    ]
    screen = pedal.screen()
    assert (screen.index, screen.rungs[0], screen.note, screen.target) == (1, "missed", "Bb2", "C3")
    assert (screen.verdict.word, screen.verdict.figure) == ("FLAT", -31)
    assert pedal.aim.target == Target(46, 48)


def test_a_skip_is_logged_without_a_verdict():
    pedal = a_pedal(mode="ladder")
    play(pedal, live(0.0, 12.5))
    (entry,) = press(pedal, "skip")
    assert (entry.skipped, entry.verdict, entry.string, entry.fret, entry.time_s) == (True, None, 6, 3, 12.5)
    assert pedal.screen().rungs[:2] == ("skipped", "open")


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"kind": "slide", "verdict": "unclear"}, "SLIDE"),
        ({"kind": "hammer_on", "verdict": "unclear"}, "HAMMER"),
        ({"kind": "unclear", "verdict": "unclear"}, "UNCLEAR"),
        ({"rest_note": "F3", "target_note": "G3"}, "OTHER"),
        ({"rest_note": "F3"}, "OTHER"),
        ({"target_note": "C3"}, "OTHER"),
    ],
)
def test_what_is_no_try_leaves_the_rung_open_and_is_not_logged(changes: dict, word: str):
    pedal = a_pedal(mode="ladder")
    assert play(pedal, *ended(a_verdict(**{"rest_note": "G2", "target_note": "Bb2"} | changes))) == []
    assert (pedal.screen().index, pedal.screen().rungs[0], pedal.screen().verdict.word) == (0, "open", word)


def test_twelve_tries_end_with_the_summary():
    pedal = a_pedal(mode="ladder")
    for error in (0.0, 4.0, -5.0, 2.0, -31.0, 3.0, -2.0, 0.0, 1.0, 6.0):
        climb(pedal, error, "flat" if error == -31.0 else "true")
    press(pedal, "skip", "skip")
    screen = pedal.screen()
    assert isinstance(screen, LadderSummaryScreen)
    assert (screen.true_count, screen.tried_count, screen.position) == (9, 10, 1)
    assert screen.bias_cents == pytest.approx(0.5)
    assert screen.worst == "G3 -31"
    assert pedal.aim.target is None
    press(pedal, "again")
    assert isinstance(pedal.screen(), LadderScreen)


def test_again_repeats_the_last_rung_and_its_new_mark_stands():
    pedal = a_pedal(mode="ladder")
    climb(pedal, -31.0, "flat")
    press(pedal, "again")
    assert (pedal.screen().index, pedal.screen().verdict) == (0, None)
    climb(pedal, 2.0)
    assert (pedal.screen().rungs[0], pedal.screen().index) == ("true", 1)


def test_passing_a_rung_that_was_tried_leaves_its_mark():
    pedal = a_pedal(mode="ladder")
    climb(pedal)
    press(pedal, "previous_target")
    assert press(pedal, "next_target") == []
    assert (pedal.screen().rungs[0], pedal.screen().index) == ("true", 1)


def test_a_bend_crossed_off_is_never_asked_for_again_in_any_session():
    pedal = a_pedal(mode="ladder")
    (entry,) = press(pedal, "cross_off")
    assert entry.skipped
    assert (pedal.screen().rungs[0], pedal.screen().index) == ("crossed", 1)
    later = Pedal(PedalState(mode="ladder"), pedal.memory())
    press(later, "next_position", "previous_position")
    assert (later.screen().rungs[0], later.screen().index) == ("crossed", 1)
    assert later.settings.crossed_off == {Crossing(6, 3, 3)}


def test_going_back_passes_over_what_is_crossed_off():
    pedal = a_pedal(mode="ladder", crossed_off=frozenset({Crossing(6, 6, 2)}))
    climb(pedal)
    assert pedal.screen().index == 2
    press(pedal, "previous_target")
    assert pedal.screen().index == 0


def test_the_order_by_need_asks_for_the_worst_first():
    pedal = a_pedal(mode="ladder", order="by_need")
    for _ in range(12):
        climb(pedal, -40.0 if pedal.screen().target == "F4" else 0.0)
    press(pedal, "next_target", "again")
    assert pedal.screen().target == "F4"
    visited = []
    for _ in range(12):
        visited.append(pedal.screen().index)
        climb(pedal)
    assert sorted(visited) == list(range(12))


@pytest.mark.parametrize("settings", ["Gb minor pentatonic", "D# minor", "Gb minor pentatonic, now F#"])
def test_what_was_missed_is_known_however_its_key_is_spelled(settings: str) -> None:
    """The foot goes a semitone up and comes back, where F# minor is said; the hand knows one bend."""
    pedal = a_pedal(mode="ladder", order="by_need", key=parse_key(settings.split(",")[0]))
    worst = pedal._ladder._rungs[6]
    for _ in range(3):
        pedal._ladder.seek(worst.string, worst.fret)
        assert climb(pedal, -60.0, "flat")
    press(pedal, "next_key", "previous_key")
    if settings.endswith("F#"):
        pedal._move(replace(pedal.settings, key=parse_key("F# minor pentatonic")))
    asked = pedal._ladder.rung
    assert (asked.string, asked.fret, asked.target_midi) == (worst.string, worst.fret, worst.target_midi)
    climb(pedal, -60.0, "flat")
    press(pedal, "recall")
    (row,) = pedal.screen().rows
    assert (row.target, row.tries, row.bias_cents) == (asked.target, 4, -60.0)


def test_the_lamp_says_what_a_try_was_and_nothing_of_another_bend_or_once_the_ladder_is_climbed() -> None:
    pedal = a_pedal(mode="ladder")
    rung = pedal._ladder.rung
    tried = a_verdict(rest_note=rung.note, target_note=rung.target)
    assert [pedal.lamp_word(replace(tried, verdict=word)) for word in ("true", "near", "flat")] == [
        "true", "near", "flat",
    ]  # fmt: skip
    assert pedal.lamp_word(replace(tried, target_note="C5")) == "", "the foot moved on while it sounded"
    for _ in range(12):
        climb(pedal)
    assert pedal.lamp_word(tried) == ""


def test_the_sum_says_nothing_of_minus_nought() -> None:
    pedal = a_pedal(mode="ladder")
    while isinstance(pedal.screen(), LadderScreen):
        climb(pedal, -0.4)
        play(pedal, Onset(9.0))
    assert pedal.screen().worst == "Bb2 +0"


def test_another_position_starts_its_own_ladder():
    pedal = a_pedal(mode="ladder")
    climb(pedal)
    press(pedal, "next_position")
    screen = pedal.screen()
    assert (screen.position, screen.index, set(screen.rungs)) == (2, 0, {"open"})


def test_a_neck_without_room_says_so():
    pedal = a_pedal(mode="ladder", neck=Neck(frets=5))
    assert isinstance(pedal.screen(), MessageScreen)
    press(pedal, "skip", "again", "cross_off", "next_position", "previous_target", "next_target")
    assert isinstance(pedal.screen(), MessageScreen)


def test_against_a_drone_the_post_is_touched_within_half_the_tolerance():
    pedal = a_pedal(mode="ladder")
    assert pedal.screen().picture.true_cents == 10.0
    press(pedal, "drone")
    assert pedal.screen().picture.true_cents == 5.0
    assert pedal.aim.bands.true_cents == 10.0, "the judge halves them itself"


def test_heavy_bends_are_known_before_they_are_tried():
    heavy = parse_string_set("0.013,0.017,0.026,0.036w,0.046w,0.056w")
    supports = [rung.support for rung in PedalState(rig=Rig(strings=heavy)).rungs()]
    assert any("heavy" in support for support in supports)
    assert all(support.startswith(("index", "middle", "ring")) for support in supports)


def test_a_string_set_that_does_not_fit_the_tuning_still_leaves_the_ladder():
    pedal = a_pedal(mode="ladder", neck=Neck(parse_tuning("seven")))
    assert len(pedal.screen().rungs) == 14
    assert pedal.screen().support


def test_again_does_not_bring_back_a_bend_that_was_crossed_off():
    pedal = a_pedal(mode="ladder")
    press(pedal, "cross_off")
    asked = pedal.screen()
    press(pedal, "again")
    assert (pedal.screen().index, pedal.screen().note) == (asked.index, asked.note)
    climb(pedal)
    assert pedal.screen().rungs[:2] == ("crossed", "true")


def test_again_after_a_bend_was_repeated_and_crossed_off_stays_where_it_is():
    pedal = a_pedal(mode="ladder")
    climb(pedal)
    press(pedal, "again", "cross_off", "again")
    assert pedal.screen().index == 1
    assert pedal.screen().rungs[0] == "crossed"


def test_the_lightest_comes_first_where_the_player_wishes_so():
    pedal = a_pedal(mode="ladder", order="lightest_first")
    forces = []
    for _ in range(12):
        forces.append(next(r.force_n for r in pedal.settings.rungs() if r.note == pedal.screen().note))
        climb(pedal)
    assert forces == sorted(forces)
    blind = a_pedal(mode="blind", order="lightest_first")
    assert (blind.screen().string, blind.screen().fret) == (3, 5), "7.8 N"
    first = blind.screen().target
    targets = [first]
    for _ in range(12):
        press(blind, "next_target")
        targets.append(blind.screen().target)
    assert len(set(targets)) == 12
    assert targets[-1] == first, "a ring"


def test_a_rung_stays_until_it_is_true_or_was_missed_five_times():
    pedal = a_pedal(mode="ladder", repeat=True)
    for error, word in ((-31.0, "flat"), (-20.0, "near")):
        climb(pedal, error, word)
        assert pedal.screen().index == 0
    climb(pedal)
    assert (pedal.screen().index, pedal.screen().rungs[0]) == (1, "true")
    for _ in range(5):
        assert pedal.screen().index == 1
        climb(pedal, -31.0, "flat")
    assert (pedal.screen().index, pedal.screen().rungs[1]) == (2, "missed")
    assert Pedal(PedalState(mode="ladder"), pedal.memory()).settings.repeat is True


def test_one_bend_that_was_crossed_off_is_brought_back_alone():
    pedal = a_pedal(mode="ladder")
    press(pedal, "cross_off", "cross_off", "menu")
    while pedal.screen().items[pedal.screen().index] != "crossed":
        press(pedal, "next_target")
    press(pedal, "again", "next_target")
    assert pedal.screen().value == "back (6)3 +3"
    press(pedal, "again", "menu")
    assert pedal.settings.crossed_off == {Crossing(6, 6, 2)}
    assert pedal.screen().rungs[:2] == ("open", "crossed")


def test_misses_at_one_rung_are_not_counted_at_the_one_gone_back_to():
    pedal = a_pedal(mode="ladder", repeat=True)
    climb(pedal)
    for _ in range(4):
        climb(pedal, -31.0, "flat")
    press(pedal, "previous_target")
    for _ in range(4):
        climb(pedal, -31.0, "flat")
        assert pedal.screen().index == 0
    climb(pedal, -31.0, "flat")
    assert pedal.screen().index != 0


def at_the_last_verdict() -> Pedal:
    """Eleven true, and the last one, the heaviest, flat at 100 s."""
    pedal = a_pedal(mode="ladder", order="lightest_first")
    for _ in range(11):
        climb(pedal)
    play(pedal, live(0.0, 100.0))
    climb(pedal, -38.0, "flat")
    return pedal


def test_the_last_verdict_is_shown_before_the_sum():
    pedal = at_the_last_verdict()
    screen = pedal.screen()
    assert isinstance(screen, LadderScreen)
    assert (screen.string, screen.fret, screen.target, screen.rungs[screen.index]) == (1, 3, "Bb4", "missed")
    assert (screen.verdict.word, screen.verdict.figure, screen.climbed) == ("FLAT", -38, True)
    assert pedal.aim.target is None
    play(pedal, live(0.0, 100.0 + LAST_VERDICT_S - 0.1))
    assert pedal.screen() == screen
    play(pedal, live(0.0, 100.0 + LAST_VERDICT_S))
    assert isinstance(pedal.screen(), LadderSummaryScreen)


def test_a_pluck_or_the_press_that_goes_on_brings_the_sum():
    pedal = at_the_last_verdict()
    play(pedal, Onset(101.0))
    assert isinstance(pedal.screen(), LadderSummaryScreen)
    for action in ("next_target", "skip"):
        pedal = at_the_last_verdict()
        assert press(pedal, action) == []
        assert isinstance(pedal.screen(), LadderSummaryScreen)


def test_the_last_rung_can_be_crossed_off_while_its_verdict_is_shown():
    pedal = at_the_last_verdict()
    assert press(pedal, "cross_off") == [], "it was tried: nothing is skipped"
    assert pedal.settings.crossed_off == {Crossing(1, 3, 3)}
    screen = pedal.screen()
    assert isinstance(screen, LadderSummaryScreen)
    assert screen.rungs.count("crossed") == 1
    press(pedal, "cross_off")
    assert pedal.settings.crossed_off == {Crossing(1, 3, 3)}, "the sum is about no bend"


@pytest.mark.parametrize("action", ["again", "previous_target"])
def test_the_last_rung_can_be_repeated_while_its_verdict_is_shown(action: str):
    pedal = at_the_last_verdict()
    press(pedal, action)
    screen = pedal.screen()
    assert (screen.string, screen.fret, screen.verdict, screen.climbed) == (1, 3, None, False)
    assert pedal.aim.target == Target(67, 70)
    climb(pedal)
    assert "missed" not in pedal.screen().rungs


def test_the_menu_brings_back_the_last_rung_though_it_is_still_shown():
    pedal = at_the_last_verdict()
    press(pedal, "menu")
    while pedal.screen().items[pedal.screen().index] != "bend":
        press(pedal, "next_target")
    press(pedal, "again", "again", "menu")
    assert (pedal.screen().fret, pedal.screen().verdict, pedal.screen().climbed) == (3, None, False)


@pytest.mark.parametrize("other", [{"key": parse_key("A minor pentatonic")}, {"position": 2}])
def test_the_marks_of_another_ladder_of_as_many_bends_are_not_taken_over(other: dict[str, object]) -> None:
    pedal = a_pedal(mode="ladder")
    press(pedal, "skip", "skip")
    kept = {name: word for name, word in pedal.memory().items() if name.startswith("rung")}
    assert Pedal(PedalState(mode="ladder"), kept).screen().rungs[:3] == ("skipped", "skipped", "open")
    later = Pedal(PedalState(mode="ladder", **other), kept).screen()
    assert (set(later.rungs), later.index) == ({"open"}, 0)


def test_again_stays_with_a_bend_that_was_chosen_or_gone_back_to() -> None:
    pedal = a_pedal(mode="ladder")
    pedal._ladder.seek(2, 6)
    press(pedal, "again")
    assert (pedal.screen().string, pedal.screen().fret) == (2, 6)
    other = a_pedal(mode="ladder")
    press(other, "next_target", "next_target", "next_target", "previous_target", "previous_target", "again")
    assert other.screen().index == 1


def test_the_sum_speaks_of_the_rungs_that_it_counts() -> None:
    """Not of one that hurt, and was crossed off."""
    pedal = a_pedal(mode="ladder")
    for index in range(12):
        rung = pedal.screen()
        error, word = (-80.0, "flat") if index == 4 else (2.0, "true")
        play(pedal, *ended(a_verdict(rest_note=rung.note, target_note=rung.target, error_cents=error, verdict=word)))
    off = next(rung for rung in pedal.settings.rungs() if rung.string == 4)
    pedal._move(replace(pedal.settings, crossed_off=frozenset({off.crossing})))
    play(pedal, live(0.0, 20.0))
    summary = pedal.screen()
    assert (summary.true_count, summary.tried_count, summary.bias_cents) == (11, 11, pytest.approx(2.0))
    assert summary.worst.endswith("+2")


@pytest.mark.parametrize("order", ["in_order", "lightest_first"])
def test_another_a4_changes_the_force_of_the_rungs_and_leaves_the_ladder_where_it_is(order: str) -> None:
    pedal = a_pedal(mode="ladder", order=order, a4_hz=415.0)
    climb(pedal)
    climb(pedal, -40.0, "flat")
    before = pedal.screen()
    pedal._move(replace(pedal.settings, a4_hz=466.0))
    assert pedal._ladder._rungs == a_pedal(a4_hz=466.0).settings.rungs()
    now = pedal.screen()
    assert (now.rungs, now.index, now.verdict) == (before.rungs, before.index, before.verdict)
    forces = []
    while isinstance(pedal.screen(), LadderScreen) and pedal.settings.mode == "ladder":
        forces.append(pedal._ladder.rung.force_n)
        press(pedal, "next_target")
    assert (forces == sorted(forces)) == (order == "lightest_first")
    if order == "lightest_first":
        press(pedal, "previous_target", "previous_target")
        assert pedal._ladder.rung.force_n == forces[-2]


def test_a_rung_that_became_heavy_with_another_a4_says_so() -> None:
    pedal = a_pedal(mode="ladder", a4_hz=415.0)
    press(pedal, "next_target", "next_target")
    assert pedal.screen().support == "middle +1"
    pedal._move(replace(pedal.settings, a4_hz=440.0))
    assert pedal.screen().support == "ring +2, heavy"
