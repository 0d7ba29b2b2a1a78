"""The guitar as the keyboard of the menu: the key by its root, the bend by its fretted note, the strings by ear."""

from __future__ import annotations

import pytest
from playing import a_board, live, play, press, sound

from pedal.modes.board import Board
from pedal.modes.menu import SHOWN_S
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import BlindScreen, LadderScreen, MenuScreen
from pedal.notes.event import Onset, Rest
from pedal.theory.neck import Neck


def pluck(board: Board, pitch: str, at_s: float = 10.0, *, seen_s: float = SHOWN_S + 0.05, cents: float = 0.0) -> None:
    """A plain note, and so much time for it to be looked at."""
    hz = sound(pitch, cents)
    play(board, live(hz, at_s), Onset(at_s), Rest(at_s + 0.1, hz))
    for step in range(1, round(seen_s / 0.05) + 1):
        play(board, live(hz, at_s + 0.05 * step))


def in_row(board: Board, name: str) -> None:
    if not isinstance(board.screen(), MenuScreen):
        press(board, "menu")
    while board.screen().items[board.screen().index] != name:
        press(board, "next_target")


@pytest.mark.parametrize(
    ("pitch", "key"),
    [("C#3", "C# minor pentatonic"), ("F#2", "F# minor pentatonic"), ("G#4", "G# minor pentatonic"),
     ("D#4", "Eb minor pentatonic"), ("A#2", "Bb minor pentatonic"), ("G3", "G minor pentatonic")],
)  # fmt: skip
def test_the_menu_opens_at_the_key_and_takes_the_root_that_is_played(pitch: str, key: str):
    board = a_board()
    press(board, "menu")
    pluck(board, pitch, cents=-8.0)
    assert str(board.settings.key) == key
    assert str(board.aim.key) == key
    press(board, "menu")
    assert board.settings.mode == "watch"


def test_it_is_shown_for_half_a_second_before_it_counts():
    board = a_board()
    press(board, "menu")
    pluck(board, "A2", seen_s=0.4)
    assert (board.screen().value, board.screen().editing) == ("A", True)
    assert str(board.settings.key) == "G minor pentatonic"
    play(board, live(0.0, 10.6))
    assert (board.screen().value, board.screen().editing) == ("A", False)
    assert str(board.settings.key) == "A minor pentatonic"


def test_the_same_press_sends_it_away_or_takes_it_back():
    board = a_board()
    press(board, "menu")
    pluck(board, "A2", seen_s=0.3)
    press(board, "again")
    play(board, live(0.0, 20.0))
    assert str(board.settings.key) == "G minor pentatonic"
    pluck(board, "A2", 30.0)
    assert str(board.settings.key) == "A minor pentatonic"
    press(board, "again")
    assert str(board.settings.key) == "G minor pentatonic"
    press(board, "again")
    assert board.screen().editing, "only once: then it changes the row, as ever"


def test_what_was_taken_is_remembered():
    board = a_board()
    press(board, "menu")
    answers = [board.step(Rest(1.0, sound("C#3")))]
    answers += [board.step(live(0.0, 0.1 * step)) for step in range(1, 20)]
    assert any(answer.remember for answer in answers)
    assert board.memory()["key"] == "C# minor pentatonic"


def test_a_drone_follows_the_key_that_was_played():
    board = a_board(drone_on=True)
    press(board, "menu")
    board.step(Rest(1.0, sound("A2")))
    answers = [board.step(live(0.0, 0.1 * step)) for step in range(1, 20)]
    assert [answer.drone for answer in answers if answer.drone] == [board.drone]
    assert board.drone.hz == (220.0,)


@pytest.mark.parametrize("mode", ["ladder", "blind", "watch", "tune"])
def test_the_fretted_note_says_which_bend_to_practise(mode: str):
    board = a_board(mode=mode)
    in_row(board, "bend")
    pluck(board, "F4")
    press(board, "menu")
    screen = board.screen()
    assert isinstance(screen, BlindScreen if mode == "blind" else LadderScreen)
    assert (screen.string, screen.fret, screen.target) == (2, 6, "G4")


def test_a_note_that_another_position_has_moves_the_hand_there():
    board = a_board(mode="ladder", position=1)
    in_row(board, "bend")
    pluck(board, "D5")
    assert board.settings.position == 3
    assert board.screen().value == "(1)10▸F5"
    press(board, "again", "menu")
    assert (board.settings.position, board.screen().target) == (1, "Bb2"), "taken back"


def test_a_note_outside_the_key_says_so_and_changes_nothing():
    board = a_board(mode="ladder")
    in_row(board, "bend")
    before = board.memory()
    pluck(board, "E4")
    assert board.screen().value == "no E4 here"
    assert board.memory() == before


def test_a_bend_that_was_crossed_off_is_not_offered():
    board = a_board(mode="ladder", crossed_off=frozenset({Crossing(2, 6, 2)}))
    in_row(board, "bend")
    pluck(board, "F4")
    assert (board.screen().value, board.settings.position) == ("(3)10▸G4", 3)


def test_the_strings_are_checked_by_ear_and_nothing_is_changed():
    board = a_board(neck=Neck(capo=2))
    in_row(board, "tuning")
    before = board.memory()
    pluck(board, "F#2", cents=-12.0)
    assert board.screen().value == "F#2 -12"
    pluck(board, "E4", 20.0)
    assert board.screen().value == "no open string"
    press(board, "next_target", "previous_target")
    assert board.screen().value == "standard"
    assert board.memory() == before


def test_other_rows_are_deaf():
    board = a_board()
    in_row(board, "volume")
    before = board.memory()
    pluck(board, "C#3")
    assert board.memory() == before


def test_bends_are_walked_by_foot_as_well():
    board = a_board(mode="ladder")
    in_row(board, "bend")
    press(board, "again", "next_target", "next_target", "again", "menu")
    assert (board.screen().string, board.screen().fret) == (5, 3)


def test_the_mode_is_chosen_in_the_menu_both_ways_and_the_menu_goes():
    board = a_board()
    in_row(board, "mode")
    press(board, "again", "previous_target", "again")
    assert board.settings.mode == "tune"
    assert not isinstance(board.screen(), MenuScreen)
    press(board, "back")
    assert board.settings.mode == "watch"


def test_a_bend_is_crossed_off_in_the_menu():
    board = a_board(mode="ladder")
    in_row(board, "cross off")
    press(board, "again", "next_target")
    assert board.screen().value == "never again"
    press(board, "again", "menu")
    assert board.settings.crossed_off == {Crossing(6, 3, 3)}
    assert board.screen().rungs[0] == "crossed"
    watch = a_board()
    in_row(watch, "cross off")
    press(watch, "again", "again", "menu")
    assert watch.settings.crossed_off == frozenset()


def test_between_minor_and_major_a_key_may_have_another_name():
    board = a_board()
    press(board, "menu")
    pluck(board, "C#3")
    in_row(board, "scale")
    press(board, "again")
    while board.screen().value != "major":
        press(board, "next_target")
    press(board, "again")
    assert str(board.settings.key) == "Db major"
