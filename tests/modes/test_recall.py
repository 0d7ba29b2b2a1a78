"""Recall: bias and spread a target, best streak, over the session."""

from __future__ import annotations

import numpy as np
import pytest
from playing import a_board, a_curl, a_verdict, ended, play, press

from pedal.modes.screen_model import RecallRow, RecallScreen
from pedal.notes.note import Trace


def bends(board, target: str, *errors: float, **changes: object) -> None:
    for error in errors:
        play(board, *ended(a_verdict(target_note=target, error_cents=error, **changes)))


def test_nothing_played_nothing_shown():
    screen = a_board(mode="recall").screen()
    assert isinstance(screen, RecallScreen)
    assert (screen.rows, screen.tries, screen.best_streak, screen.page, screen.pages) == ((), 0, 0, 0, 1)


def test_rows_by_target_the_most_tried_first():
    board = a_board(mode="watch")
    bends(board, "C4", -20.0)
    bends(board, "D4", -10.0, 0.0, 20.0)
    press(board, "recall")
    first, second = board.screen().rows
    assert first == RecallRow("D4", 3, 0.0, pytest.approx(14.826))
    assert second == RecallRow("C4", 1, -20.0, None)
    assert board.screen().tries == 4


def test_curls_have_their_own_row_by_height():
    board = a_board(mode="curl")
    for height in (30.0, 40.0, 50.0):
        play(board, *ended(a_curl(bend_cents=height)))
    press(board, "recall")
    assert board.screen().rows == (RecallRow("Bb3 curl", 3, 40.0, pytest.approx(14.826), is_height=True),)


def test_the_best_streak_runs_over_all_modes():
    board = a_board(mode="watch")
    bends(board, "D4", 0.0, 1.0)
    press(board, "next_mode")
    play(board, *ended(a_curl()))
    play(board, *ended(a_curl(verdict="released", ending="released")))
    press(board, "recall")
    assert board.screen().best_streak == 3


def test_notes_that_were_not_judged_and_skips_are_not_counted():
    board = a_board(mode="watch")
    play(board, *ended(a_verdict(kind="slide", verdict="unclear")))
    press(board, "next_mode", "next_mode", "skip", "skip", "recall")
    assert (board.screen().tries, board.screen().rows) == (0, ())


def test_pages_are_walked_in_a_ring():
    board = a_board(mode="watch")
    for target in ("C4", "D4", "F4", "G4", "Bb4"):
        bends(board, target, 1.0)
    press(board, "recall")
    pages = []
    for _ in range(4):
        pages.append((board.screen().page, tuple(row.target for row in board.screen().rows)))
        press(board, "next_target")
    assert [page for page, _ in pages] == [0, 1, 2, 0]
    assert sum((rows for _, rows in pages[:3]), ()) == ("Bb4", "C4", "D4", "F4", "G4")
    assert board.screen().pages == 3
    press(board, "previous_target", "previous_target")
    assert board.screen().page == 2


def test_what_is_played_while_looking_back_is_not_counted():
    board = a_board(mode="recall")
    assert play(board, *ended(a_verdict())) == []
    assert board.screen().tries == 0


def test_back_goes_where_the_player_came_from():
    board = a_board(mode="ladder")
    press(board, "next_mode", "recall", "back")
    assert board.settings.mode == "blind"


def test_looking_back_over_a_long_session_keeps_no_curves():
    """A note of a second and a half has a curve of 13 kB; four thousand of them would be 54 MB."""
    import tracemalloc

    board = a_board(mode="watch")
    tracemalloc.start()
    try:
        for number in range(500):
            curve = Trace(*(np.full(560, 0.1 * number + part) for part in range(3)))
            bends(board, "D4", 5.0, trace=curve)
        kept_bytes = tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
    press(board, "recall")
    assert board.screen().tries == 500
    assert kept_bytes < 500 * 500
