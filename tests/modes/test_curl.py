"""Curl: above all the ending."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_bend_as_events, a_curl, a_pedal, a_verdict, ended, play, press

from pedal.modes.screen_model import CurlScreen, VerdictCard


def curls(pedal, *words: str) -> None:
    for word in words:
        play(pedal, *ended(a_curl(verdict=word, ending="released" if word == "released" else "cut_sharp")))


def test_a_curl_of_perfect_height_that_was_released_is_released_and_the_streak_is_lost():
    pedal = a_pedal(mode="curl")
    curls(pedal, "true", "true", "true")
    assert (pedal.screen().streak, pedal.screen().best_streak) == (3, 3)
    entries = play(pedal, *ended(a_curl(verdict="released", ending="released", bend_cents=35.0)))
    screen = pedal.screen()
    assert isinstance(screen, CurlScreen)
    assert screen.verdict == VerdictCard("RELEASED", 35, "released", "On the note.", is_height=True, note="Bb3")
    assert (screen.streak, screen.best_streak) == (0, 3)
    assert entries[0].verdict.verdict == "released"


@pytest.mark.parametrize(
    ("words", "streak", "best"),
    [
        (("true",), 1, 1),
        (("true", "near", "true"), 2, 2),
        (("true", "flat", "true"), 1, 1),
        (("true", "true", "sharp"), 0, 2),
        (("true", "unclear", "true"), 2, 2),
        (("released",), 0, 0),
    ],
)
def test_the_streak(words: tuple[str, ...], streak: int, best: int):
    pedal = a_pedal(mode="curl")
    curls(pedal, *words)
    assert (pedal.screen().streak, pedal.screen().best_streak) == (streak, best)


def test_plain_notes_and_scale_bends_between_curls_leave_the_streak_alone():
    pedal = a_pedal(mode="curl")
    curls(pedal, "true")
    play(pedal, *ended(a_verdict(kind="steady", verdict="unclear")), *ended(a_verdict(verdict="flat")))
    assert pedal.screen().streak == 1


def test_the_zone_stands_over_a_note_that_is_curled_and_nowhere_else():
    pedal = a_pedal(mode="curl")
    play(pedal, *a_bend_as_events("Bb3", 30.0))
    assert (pedal.screen().string.zone_cents, pedal.screen().string.target_cents) == ((15.0, 60.0), None)
    play(pedal, *a_bend_as_events("C4", 30.0))
    assert (pedal.screen().string.zone_cents, pedal.screen().string.target_cents) == (None, None)


def test_again_starts_the_streak_anew_and_keeps_the_best():
    pedal = a_pedal(mode="curl")
    curls(pedal, "true", "true")
    press(pedal, "again")
    assert (pedal.screen().streak, pedal.screen().best_streak, pedal.screen().verdict) == (0, 2, None)


def test_the_judge_is_told_to_insist_on_curls():
    assert (a_pedal(mode="curl").aim.judge_as, a_pedal(mode="curl").aim.target) == ("curl", None)


def test_a_streak_is_one_players_own() -> None:
    pedal = a_pedal(mode="curl", players=("Ann", "Ben"), player="Ann")
    play(pedal, *ended(a_curl(verdict="true")))
    assert pedal.screen().streak == 1
    pedal._move(replace(pedal.settings, player="Ben"))
    assert (pedal.screen().streak, pedal.screen().best_streak, pedal.screen().verdict) == (0, 0, None)
