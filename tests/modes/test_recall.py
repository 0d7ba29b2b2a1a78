"""Recall: bias and spread a target, best streak, over the session."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from playing import a_curl, a_pedal, a_verdict, ended, play, press

from pedal.modes.input_events import DelayHeard
from pedal.modes.screen_model import CodeScreen, RecallRow, RecallScreen
from pedal.notes.note import Trace
from pedal.theory.scale import parse_key


def bends(pedal, target: str, *errors: float, **changes: object) -> None:
    for error in errors:
        play(pedal, *ended(a_verdict(target_note=target, error_cents=error, **changes)))


def test_nothing_played_nothing_shown():
    screen = a_pedal(mode="recall").screen()
    assert isinstance(screen, RecallScreen)
    assert (screen.rows, screen.tries, screen.best_streak, screen.page, screen.pages) == ((), 0, 0, 0, 2)


def test_rows_by_target_the_most_tried_first():
    pedal = a_pedal(mode="watch")
    bends(pedal, "C4", -20.0)
    bends(pedal, "D4", -10.0, 0.0, 20.0)
    press(pedal, "recall")
    first, second = pedal.screen().rows
    assert first == RecallRow("D4", 3, 0.0, pytest.approx(14.826))
    assert second == RecallRow("C4", 1, -20.0, None)
    assert pedal.screen().tries == 4


def test_curls_have_their_own_row_by_height():
    pedal = a_pedal(mode="curl")
    for height in (30.0, 40.0, 50.0):
        play(pedal, *ended(a_curl(bend_cents=height)))
    press(pedal, "recall")
    assert pedal.screen().rows == (RecallRow("Bb3 curl", 3, 40.0, pytest.approx(14.826), is_height=True),)


def test_a_row_is_spelled_as_in_the_key_of_now_and_is_one_however_it_was_spelled():
    pedal = a_pedal(mode="watch", key=parse_key("Gb minor pentatonic"))
    bends(pedal, "Db4", -20.0)
    play(pedal, *ended(a_curl(rest_note="Bbb3", bend_cents=30.0)))
    pedal._move(replace(pedal.settings, key=parse_key("F# minor pentatonic")))
    bends(pedal, "C#4", -40.0)
    play(pedal, *ended(a_curl(rest_note="A3", bend_cents=40.0)))
    press(pedal, "recall")
    assert [(row.target, row.tries) for row in pedal.screen().rows] == [("A3 curl", 2), ("C#4", 2)]
    press(pedal, "back")
    pedal._move(replace(pedal.settings, key=parse_key("Gb minor pentatonic")))
    press(pedal, "recall")
    assert [(row.target, row.tries) for row in pedal.screen().rows] == [("Bbb3 curl", 2), ("Db4", 2)]


def test_the_best_streak_runs_over_all_modes():
    pedal = a_pedal(mode="watch")
    bends(pedal, "D4", 0.0, 1.0)
    press(pedal, "next_mode")
    play(pedal, *ended(a_curl()))
    play(pedal, *ended(a_curl(verdict="released", ending="released")))
    press(pedal, "recall")
    assert pedal.screen().best_streak == 3


def test_notes_that_were_not_judged_and_skips_are_not_counted():
    pedal = a_pedal(mode="watch")
    play(pedal, *ended(a_verdict(kind="slide", verdict="unclear")))
    press(pedal, "next_mode", "next_mode", "skip", "skip", "recall")
    assert (pedal.screen().tries, pedal.screen().rows) == (0, ())


def test_pages_are_walked_in_a_ring():
    pedal = a_pedal(mode="watch")
    for target in ("C4", "D4", "F4", "G4", "Bb4"):
        bends(pedal, target, 1.0)
    press(pedal, "recall")
    pages = []
    for _ in range(5):
        screen = pedal.screen()
        pages.append((screen.page, tuple(row.target for row in getattr(screen, "rows", ()))))
        press(pedal, "next_target")
    assert [page for page, _ in pages] == [0, 1, 2, 3, 0]
    assert sum((rows for _, rows in pages[:4]), ()) == ("Bb4", "C4", "D4", "F4", "G4")
    assert pedal.screen().pages == 4, "three of rows, and the code"
    press(pedal, "previous_target", "previous_target")
    assert pedal.screen().page == 3


def test_what_is_played_while_looking_back_is_not_counted():
    pedal = a_pedal(mode="recall")
    assert play(pedal, *ended(a_verdict())) == []
    assert pedal.screen().tries == 0


def test_back_goes_where_the_player_came_from():
    pedal = a_pedal(mode="ladder")
    press(pedal, "next_mode", "recall", "back")
    assert pedal.settings.mode == "blind"


def test_looking_back_over_a_long_session_keeps_no_curves():
    """A note of a second and a half has a curve of 13 kB; four thousand of them would be 54 MB."""
    import gc
    import tracemalloc

    pedal = a_pedal(mode="watch")
    tracemalloc.start()
    try:
        for number in range(500):
            curve = Trace(*(np.full(560, 0.1 * number + part) for part in range(3)))
            bends(pedal, "D4", 5.0, trace=curve)
        gc.collect()  # what only waits to be collected is not kept
        kept_bytes = tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
    press(pedal, "recall")
    assert pedal.screen().tries == 500
    assert kept_bytes < 500 * 500


def test_the_code_of_today_has_the_share_that_was_true():
    pedal = a_pedal(mode="watch")
    bends(pedal, "D4", 0.0, 1.0)
    bends(pedal, "D4", -40.0, verdict="flat")
    press(pedal, "recall", "next_target")
    shown = pedal.screen()
    assert isinstance(shown, CodeScreen)
    assert "67" in shown.short


def test_a_page_stays_but_where_another_density_holds_other_rows():
    pedal = a_pedal(mode="watch")
    for target in ("C4", "D4", "F4", "G4"):
        bends(pedal, target, 1.0)
    press(pedal, "recall", "next_target")
    assert pedal.screen().page == 1
    press(pedal, "drone")
    assert pedal.settings.drone_on
    assert pedal.screen().page == 1
    play(pedal, DelayHeard(1.0, 34.0))
    assert pedal.screen().page == 1
    press(pedal, "menu")
    while pedal.screen().items[pedal.screen().index] != "display":
        press(pedal, "next_target")
    press(pedal, "again", "next_target", "again", "menu")
    assert pedal.settings.density == "close"
    assert pedal.screen().page == 0
