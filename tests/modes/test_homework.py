"""Homework in a Round: asked for first, counted, done, and told in the look back."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_curl, a_verdict, ended, play, press

from bench.rounds import Asked
from bench.rounds import play as play_round
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.rungs import Crossing
from pedal.practice.homework import Homework, Task
from pedal.practice.item import Item
from pedal.synth.player import MadeUpPlayer
from pedal.theory.neck import Neck, parse_tuning

FAR = Homework((Task("bend", 2, 15, 2, 3), Task("prebend", 3, 12, 2, 2), Task("curl", 2, 11, 0, 1)), by="2026-12-04")
"""None of it lies in position 1."""


def a_pedal(homework: Homework, past: tuple[LogEntry, ...] = (), **settings: object) -> Pedal:
    return Pedal(PedalState(homework=homework, mode="round", **settings), {}, past)  # type: ignore[arg-type]


def shown(pedal: Pedal) -> list[Item]:
    found = play_round(pedal, MadeUpPlayer(pedal.settings.key, learns=0.3), begin_s=0.0)
    return [one.what for one in found if isinstance(one, Asked) and isinstance(one.what, Item)]


def test_what_was_set_is_asked_for_wherever_it_lies():
    pedal = a_pedal(FAR)
    asked = {(item.part, item.string, item.fret) for item in shown(pedal)}
    assert {("bend", 2, 15), ("prebend", 3, 12)} <= asked


def test_the_screen_says_that_it_is_homework_and_how_far():
    pedal = a_pedal(Homework((Task("bend", 2, 6, 2, 2),)))
    press(pedal, "next_target")
    for _ in range(60):
        if isinstance(pedal.asked, Item) and pedal.asked.part == "bend" and pedal.asked.string == 2:
            break
        press(pedal, "next_target")
    assert pedal.screen().homework == "0/2"
    for wanted in ("1/2", ""):
        play(pedal, *ended(a_verdict(rest_note="F4", target_note="G4")))
        assert pedal.screen().homework == wanted


def test_it_is_counted_in_every_mode_where_it_was_asked_for_and_told_in_the_look_back():
    pedal = Pedal(PedalState(mode="ladder", homework=Homework((Task("bend", 6, 3, 3, 2),), by="2026-12-04")))
    words = []
    for word in ("true", "near", "true"):
        play(pedal, *ended(a_verdict(rest_note="G2", target_note="Bb2", verdict=word)))
        press(pedal, "again", "recall", "previous_target")
        words.append(pedal.screen().homework)
        press(pedal, "back")
    assert words == ["0/1 by 2026-12-04", "0/1 by 2026-12-04", "1/1 by 2026-12-04"]


def test_nobody_set_anything_and_the_look_back_has_no_such_page():
    pedal = Pedal(PedalState(mode="recall"))
    assert (pedal.screen().pages, pedal.screen().homework) == (2, "")


@pytest.mark.parametrize(("since_s", "done"), [(float("-inf"), 1), (-500.0, 1), (-50.0, 0)])
def test_tries_of_earlier_days_count_from_the_day_it_was_set(since_s: float, done: int):
    entry = LogEntry(-100.0, "ladder", "G minor pentatonic", a_verdict(rest_note="F4", target_note="G4"), 1, 2, 6, "G4")
    homework = Homework((Task("bend", 2, 6, 2, 1),), since_s=since_s)
    pedal = Pedal(PedalState(mode="recall", homework=homework), {}, [entry])
    press(pedal, "previous_target")
    assert pedal.screen().homework == f"{done}/1"


def test_it_is_one_players_and_anothers_tries_do_not_count():
    homework = Homework((Task("bend", 2, 6, 2, 1),), player="Ann")
    verdict = a_verdict(rest_note="F4", target_note="G4")
    entry = LogEntry(-100.0, "ladder", "G minor pentatonic", verdict, 1, 2, 6, "G4", player="Ben")
    two = {"players": ("Ann", "Ben")}
    ann = Pedal(PedalState(mode="recall", homework=homework, player="Ann", **two), {}, [entry])
    press(ann, "previous_target")
    assert ann.screen().homework == "0/1"
    ben = Pedal(PedalState(mode="recall", homework=homework, player="Ben", **two), {}, [entry])
    press(ben, "previous_target")
    assert getattr(ben.screen(), "homework", "") == "", "Ben's last page is the code"
    mine = replace(entry, player="Ann")
    again = Pedal(PedalState(mode="recall", homework=homework, player="Ann", **two), {}, [mine])
    press(again, "previous_target")
    assert again.screen().homework == "1/1"


def test_what_the_hand_shall_not_do_is_not_asked_for_even_by_a_teacher():
    homework = Homework((Task("bend", 1, 3, 3, 5), Task("bend", 2, 15, 2, 5)))
    pedal = a_pedal(homework, crossed_off=frozenset({Crossing(2, 15, 2)}))
    asked = {(item.string, item.fret) for item in shown(pedal) if item.part in ("bend", "prebend")}
    assert asked
    assert not asked & {(1, 3), (2, 15)}


def test_a_curl_that_the_key_does_not_have_waits_for_its_key():
    homework = Homework((Task("curl", 2, 6, 0, 1),))
    asked = {(i.string, i.fret) for i in shown(a_pedal(homework, position=3)) if i.part == "curl"}
    assert (2, 6) in asked
    from pedal.theory.scale import parse_key

    other = {(i.string, i.fret) for i in shown(a_pedal(homework, position=3, key=parse_key("A minor pentatonic")))
             if i.part == "curl"}  # fmt: skip
    assert (2, 6) not in other


def test_a_curl_counts_where_it_was_asked_for():
    pedal = a_pedal(Homework((Task("curl", 2, 6, 0, 1),)))
    press(pedal, "next_target")
    while not (isinstance(pedal.asked, Item) and pedal.asked.part == "curl" and pedal.asked.string == 2):
        press(pedal, "next_target")
    play(pedal, *ended(a_curl(rest_note="F4")))
    press(pedal, "recall", "previous_target")
    assert pedal.screen().homework == "1/1"


@pytest.mark.parametrize("tuned_now", ["standard", "half-step down", "whole-step down", "bass"])
def test_a_try_counts_as_the_guitar_was_tuned_then_whatever_it_is_tuned_to_now(tuned_now: str) -> None:
    """Fret 8 of string 2 sounds F#4 half a step down: up to A4 are three semitones, not two as from a standard G4."""
    tasks = tuple(Task("bend", 2, 8, semitones, 9) for semitones in (1, 2, 3))
    then = PedalState(neck=Neck(parse_tuning("half-step down")))
    tried = then.line("ladder", -60.0, a_verdict(rest_note="F#4", target_note="A4"), target="A4")
    neck = Neck(parse_tuning(tuned_now), capo=1)
    pedal = a_pedal(Homework(tasks), (replace(tried, string=2, fret=8),), neck=neck)
    assert [pedal._homework.true(task) for task in tasks] == [0, 0, 1]


@pytest.mark.parametrize("damage", [{"tuning": "?"}, {"tuning": ""}, {"target_note": "H9"}, {"string": 7}])
def test_a_line_of_the_log_that_says_nothing_of_a_bend_counts_for_none(damage: dict) -> None:
    entry = LogEntry(-60.0, "ladder", "G minor pentatonic", a_verdict(), 1, 2, 6, "G4")
    pedal = a_pedal(Homework((Task("bend", 2, 6, 2, 9),)), (replace(entry, **damage), entry))
    assert pedal._homework.true(pedal.settings.homework.tasks[0]) == 1
