"""Blind: nothing before the pluck, then the first pitch's error and the spread over repeats."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from playing import a_bend_as_events, a_pedal, a_verdict, ended, live, play, press, sound

from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import BlindScreen, MessageScreen
from pedal.notes.event import Onset
from pedal.theory.neck import Neck
from pedal.verdicts.aim import Target


def answer(pedal: Pedal, error_cents: float, word: str = "true", **changes: object) -> list:
    """A pre-bend of the target that is asked for."""
    target = pedal.screen().target
    return play(
        pedal,
        Onset(1.0),
        *ended(
            a_verdict(**({"kind": "prebend", "shape": "level", "rest_note": None, "target_note": target,
                        "error_cents": error_cents, "verdict": word} | changes))
        ),
    )  # fmt: skip


def test_nothing_of_the_height_is_shown_before_or_during_the_pluck():
    pedal = a_pedal(mode="blind")
    before = pedal.screen()
    assert isinstance(before, BlindScreen)
    assert (before.target, before.string, before.fret, before.waiting, before.verdict) == ("Bb2", 6, 3, True, None)
    play(pedal, live(sound("A2"), 1.0), *a_bend_as_events("A2", 130.0), live(sound("A2", 137.0), 1.6))
    assert pedal.screen() == before


def test_then_the_first_pitch_is_judged_and_logged():
    pedal = a_pedal(mode="blind")
    entries = answer(pedal, 11.4, "near")
    assert [(e.mode, e.string, e.fret, e.target_note, e.drone) for e in entries] == [("blind", 6, 3, "Bb2", True)]
    screen = pedal.screen()
    assert (screen.waiting, screen.verdict.word, screen.verdict.figure) == (False, "NEAR", 11)


def test_a_pre_bend_that_only_ever_stood_at_its_height_is_a_try():
    pedal = a_pedal(mode="blind")
    assert len(answer(pedal, -8.0, "near", rest_note="Bb2", hold_s=0.9)) == 1


@pytest.mark.parametrize("begun_by", ["hammer_on", "pull_off"])
def test_what_was_bent_by_ear_after_a_hammer_on_is_no_try(begun_by: str):
    """The fault: it was told true and counted, though the ear had done what the hand is asked for."""
    pedal = a_pedal(mode="blind")
    assert answer(pedal, 0.0, kind="bend", rest_note="G2", begun_by=begun_by) == []
    assert pedal.screen().tries == 0


def test_the_next_pluck_is_blind_again():
    pedal = a_pedal(mode="blind")
    answer(pedal, 11.4, "near")
    play(pedal, Onset(5.0))
    assert (pedal.screen().waiting, pedal.screen().verdict) == (True, None)


def test_the_spread_is_over_repeats_of_this_target():
    pedal = a_pedal(mode="blind")
    for error in (-10.0, 0.0, 10.0):
        answer(pedal, error)
    assert (pedal.screen().tries, pedal.screen().bias_cents) == (3, 0.0)
    assert pedal.screen().spread_cents == pytest.approx(14.826)
    press(pedal, "next_target")
    assert (pedal.screen().target, pedal.screen().tries, pedal.screen().spread_cents) == ("C3", 0, None)
    press(pedal, "previous_target")
    assert pedal.screen().tries == 3
    press(pedal, "again")
    assert pedal.screen().tries == 0


def test_another_note_is_no_try():
    pedal = a_pedal(mode="blind")
    assert play(pedal, *ended(a_verdict(kind="unclear", verdict="unclear", rest_note=None, target_note=None))) == []
    assert (pedal.screen().tries, pedal.screen().verdict.word) == (0, "UNCLEAR")


def test_the_judge_is_told_the_target_and_that_a_drone_sounds():
    aim = a_pedal(mode="blind").aim
    assert (aim.judge_as, aim.target, aim.drone) == ("blind", Target(43, 46), True)


def test_the_drone_that_blind_asked_for_goes_when_the_player_leaves():
    pedal = a_pedal(mode="ladder", modes=("ladder", "blind", "echo"))
    assert pedal.drone.hz == ()
    press(pedal, "next_mode")
    assert len(pedal.drone.hz) == 1
    press(pedal, "next_mode")
    assert pedal.drone.hz == ()


def test_a_drone_that_the_player_switched_on_stays():
    pedal = a_pedal(mode="ladder", modes=("ladder", "blind", "echo"))
    press(pedal, "drone", "next_mode", "next_mode")
    assert pedal.drone.hz != ()
    assert pedal.aim.drone


def test_by_need_the_worst_comes_next_and_never_the_one_just_played():
    pedal = a_pedal(mode="blind", order="by_need")
    seen = []
    for _ in range(30):
        spot = (pedal.screen().string, pedal.screen().fret)
        seen.append(spot)
        answer(pedal, -60.0 if spot == (4, 3) else 1.0)
        press(pedal, "next_target")
    assert len(set(seen)) == 12, "every target is tried in the end"
    assert all(one != other for one, other in pairwise(seen))
    assert seen.count((4, 3)) >= 8, "the worst comes back again and again"


def test_what_is_crossed_off_is_not_asked_for():
    pedal = a_pedal(mode="blind")
    press(pedal, "cross_off")
    assert pedal.screen().target == "C3"
    assert pedal.settings.crossed_off == {Crossing(6, 3, 3)}


def test_with_everything_crossed_off_it_says_so():
    rungs = PedalState().rungs()
    pedal = a_pedal(mode="blind", crossed_off=frozenset(rung.crossing for rung in rungs))
    assert isinstance(pedal.screen(), MessageScreen)
    press(pedal, "next_target", "again", "previous_target", "cross_off")
    assert pedal.aim.target is None
    assert isinstance(a_pedal(mode="blind", neck=Neck(frets=5)).screen(), MessageScreen)


@pytest.mark.parametrize("moves", [0, 1, 5])
def test_the_target_is_remembered_by_its_number(moves: int):
    pedal = a_pedal(mode="blind")
    press(pedal, *["next_target"] * moves)
    assert pedal.memory()["blind"] == moves
    assert Pedal(PedalState(mode="blind"), pedal.memory()).screen().target == pedal.screen().target


def test_a_pre_bend_that_rings_while_the_next_target_is_asked_for_is_not_held_against_it():
    """It was called plucked before it was bent: the next target's fret is where it stood."""
    pedal = a_pedal(mode="blind")
    play(pedal, Onset(1.0))
    press(pedal, "next_target")
    before = pedal.screen()
    refused = {"kind": "unclear", "verdict": "unclear", "reason": "C3 was plucked before it was bent."}
    assert answer_without_a_pluck(pedal, **refused) == []
    assert pedal.screen() == before
    assert answer(pedal, 0.0), "and the next pluck is"


@pytest.mark.parametrize("way", ["next_mode", "previous_mode", "back"])
def test_a_pre_bend_that_rings_while_blind_is_entered_is_no_try(way: str):
    """Nobody had asked for it, and the player had not been told what to remember."""
    pedal = a_pedal(mode="blind")
    press(pedal, {"next_mode": "previous_mode", "previous_mode": "next_mode", "back": "next_mode"}[way])
    play(pedal, Onset(1.0))
    press(pedal, way)
    before = pedal.screen()
    assert isinstance(before, BlindScreen)
    rings = {"kind": "prebend", "shape": "level", "rest_note": None, "target_note": before.target, "error_cents": 0.0}
    assert answer_without_a_pluck(pedal, **rings) == []
    assert pedal.screen() == before
    assert answer(pedal, 0.0), "and the next pluck is"


def answer_without_a_pluck(pedal: Pedal, **changes: object) -> list:
    return play(pedal, *ended(a_verdict(**changes)))


def test_another_a4_changes_the_force_of_the_targets_and_keeps_what_was_repeated() -> None:
    pedal = a_pedal(mode="blind", a4_hz=415.0)
    press(pedal, "next_target")
    rung = pedal._blind.rung
    tried = a_verdict(rest_note=None, target_note=rung.target, kind="prebend", error_cents=-30.0, verdict="flat")
    assert play(pedal, Onset(1.0), *ended(tried))
    pedal._move(replace(pedal.settings, a4_hz=466.0))
    assert pedal._blind._rungs == a_pedal(a4_hz=466.0).settings.rungs()
    assert (pedal.screen().target, pedal.screen().tries) == (rung.target, 1)


def test_the_lamp_says_what_a_pre_bend_was_and_nothing_of_what_was_plucked_for_the_target_before() -> None:
    pedal = a_pedal(mode="blind")
    rung = pedal._blind.rung
    play(pedal, Onset(1.0))
    tried = a_verdict(rest_note=None, target_note=rung.target, kind="prebend", verdict="near")
    assert pedal.lamp_word(tried) == "near"
    assert pedal.lamp_word(replace(tried, kind="bend", rest_note=rung.note, verdict="true")) == ""
    press(pedal, "next_target", "previous_target")
    assert pedal._blind.rung == rung
    assert pedal.lamp_word(tried) == ""
