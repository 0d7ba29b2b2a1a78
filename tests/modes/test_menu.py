"""The menu: everything that a stage needs without a computer, by one switch."""

from __future__ import annotations

import pytest
from playing import a_board, a_verdict, ended, live, play, press

from pedal.modes.action_map import ActionMap
from pedal.modes.board import Board, BoardSettings
from pedal.modes.feet import Feet
from pedal.modes.happening import DevicesFound
from pedal.modes.menu import NAMES
from pedal.modes.screen_model import MenuScreen, WatchScreen
from pedal.theory.neck import Neck, parse_tuning


def go_to(board: Board, name: str) -> None:
    while board.screen().items[board.screen().index] != name:
        press(board, "next_target")


def choose(board: Board, name: str, value: str) -> None:
    """Change one row to one of its values, as a foot would."""
    if not isinstance(board.screen(), MenuScreen):
        press(board, "menu")
    go_to(board, name)
    press(board, "again")
    for _ in range(100):
        if board.screen().value == value:
            break
        press(board, "next_target")
    assert board.screen().value == value
    press(board, "again")


def values_of(board: Board, name: str) -> list[str]:
    press(board, "menu")
    go_to(board, name)
    press(board, "again")
    values: list[str] = []
    while board.screen().value not in values:
        values.append(board.screen().value)
        press(board, "next_target")
    return values


def test_the_menu_comes_up_over_the_mode_and_goes_again():
    board = a_board()
    press(board, "menu")
    screen = board.screen()
    assert isinstance(screen, MenuScreen)
    assert (screen.items, screen.index, screen.value, screen.editing) == (NAMES, 0, "G", False)
    assert screen.status.mode == "menu"
    press(board, "menu")
    assert isinstance(board.screen(), WatchScreen)


def test_what_a_stage_needs_is_there():
    wanted = "key scale position tuning capo A4 tolerance input drone volume display device"
    assert set(wanted.split()) <= set(NAMES)


@pytest.mark.parametrize(
    ("name", "value", "read"),
    [
        ("key", "Bb", lambda s: str(s.key) == "Bb minor pentatonic"),
        ("scale", "mixolydian", lambda s: str(s.key) == "G mixolydian"),
        ("position", "4", lambda s: s.position == 4),
        ("tuning", "drop D", lambda s: s.neck.tuning == parse_tuning("drop D")),
        ("capo", "fret 3", lambda s: s.neck.capo == 3),
        ("A4", "442 Hz", lambda s: s.a4_hz == 442.0),
        ("tolerance", "±5", lambda s: (s.bands.true_cents, s.bands.near_cents) == (5.0, 12.5)),
        ("drone", "minor", lambda s: (s.drone, s.drone_on) == ("minor", True)),
        ("volume", "-42 dB", lambda s: s.drone_db == -42.0),
        ("targets", "by need", lambda s: s.order == "by_need"),
        ("display", "close", lambda s: s.density == "close"),
        ("device", "interface two", lambda s: s.device == "interface two"),
    ],
)
def test_a_value_is_chosen_taken_and_remembered(name: str, value: str, read):
    settings = BoardSettings(devices=("interface one", "interface two"))
    board = Board(settings)
    choose(board, name, value)
    assert read(board.settings)
    assert board.screen().value == value
    if name == "drone":
        return  # a drone does not come back by itself
    later = Board(settings, board.memory())
    assert read(later.settings)


def test_the_judge_hears_of_it_at_once():
    board = a_board()
    choose(board, "key", "A")
    choose(board, "A4", "442 Hz")
    choose(board, "capo", "fret 2")
    assert (str(board.aim.key), board.aim.a4_hz, board.aim.lowest_midi) == ("A minor pentatonic", 442.0, 42)


def test_leaving_in_the_middle_changes_nothing():
    board = a_board()
    before = board.memory()
    for leave in ("menu", "back"):
        press(board, "menu")
        go_to(board, "key")
        press(board, "again", "next_target", leave)
        press(board, *(["back"] if leave == "back" else []))
        assert isinstance(board.screen(), WatchScreen)
        assert board.memory() == before


def test_previous_walks_back():
    board = a_board()
    press(board, "menu", "previous_target")
    assert board.screen().items[board.screen().index] == "leave"
    press(board, "again")
    assert isinstance(board.screen(), WatchScreen)


def test_only_positions_that_the_neck_holds_are_offered():
    assert values_of(a_board(), "position") == ["1", "2", "3", "4", "5"]
    assert values_of(a_board(neck=Neck(frets=12)), "position") == [
        str(n) for n in BoardSettings(neck=Neck(frets=12)).held_positions()
    ]


def test_the_players_own_tuning_scale_and_a4_are_among_the_values():
    board = a_board(neck=Neck(parse_tuning("C2 G2 D3 G3 B3 D4")), a4_hz=415.0)
    assert "C2 G2 D3 G3 B3 D4" in values_of(board, "tuning")
    press(board, "menu")
    assert "415 Hz" in values_of(board, "A4")


def test_the_drone_gets_no_louder_than_its_ceiling_and_is_changed_while_it_sounds():
    board = a_board(drone_db=-31.0, ceiling_db=-24.0)
    quieter = [f"-{db} dB" for db in range(48, 32, -3)]
    assert values_of(board, "volume") == ["-31 dB", "-30 dB", "-27 dB", "-24 dB", *quieter]
    press(board, "back", "menu", "drone")
    assert board.drone.level_db == -31.0
    choose(board, "volume", "-27 dB")
    assert board.drone.level_db == -27.0
    louder = Board(BoardSettings(ceiling_db=-24.0), {"drone_db": -12.0})
    assert louder.settings.drone_db == BoardSettings().drone_db


def test_devices_are_those_that_are_there_now():
    board = a_board()
    play(board, DevicesFound(1.0, ("one", "two")))
    assert values_of(board, "device") == ["system's own", "one", "two"]


def test_crossed_off_bends_can_be_brought_back():
    board = a_board(mode="ladder")
    press(board, "cross_off")
    choose(board, "crossed", "bring back")
    assert board.settings.crossed_off == frozenset()
    press(board, "menu")
    assert board.screen().rungs[0] == "open"


@pytest.mark.parametrize(
    ("levels_db", "clipped", "word"),
    [
        ((), False, "play hard"),
        ((-55.0, -40.0), False, "gain up -40 dB"),
        ((-50.0, -18.4, -30.0), False, "good -18 dB"),
        ((-6.0,), False, "gain down -6 dB"),
        ((-12.0,), True, "clips: gain down"),
    ],
)
def test_the_gain_check(levels_db: tuple[float, ...], clipped: bool, word: str):
    board = a_board()
    press(board, "menu")
    go_to(board, "input")
    for level_db in levels_db:
        sample = live(0.0, 1.0, clipped=clipped)
        play(board, type(sample)(sample.time_s, 0.0, level_db, clipped))
    assert board.screen().value == word
    press(board, "again")
    assert board.screen().value == "play hard"


def test_notes_while_the_menu_is_up_are_neither_judged_nor_logged():
    board = a_board()
    press(board, "menu")
    assert play(board, *ended(a_verdict())) == []
    press(board, "menu")
    assert board.screen().verdict is None


def test_actions_that_mean_nothing_in_the_menu_do_nothing():
    board = a_board()
    press(board, "menu")
    before = (board.screen(), board.memory())
    press(board, "next_mode", "next_key", "next_position", "skip", "cross_off", "model_begin", "model_end", "recall")
    assert (board.screen(), board.memory()) == before


def stamp(board: Board, feet: Feet, at_s: float, lasting_s: float) -> float:
    """One press of switch 1, told to the board as the loop tells it."""
    mode = lambda: "menu" if isinstance(board.screen(), MenuScreen) else board.settings.mode  # noqa: E731
    for order in feet.edge(at_s, 1, True, mode=mode()):
        board.step(order)
    for i in range(1, int(lasting_s / 0.01)):
        for order in feet.tick(at_s + 0.01 * i, mode=mode()):
            board.step(order)
    for order in feet.edge(at_s + lasting_s, 1, False, mode=mode()):
        board.step(order)
    for order in feet.tick(at_s + lasting_s + 0.05, mode=mode()):
        board.step(order)
    return at_s + lasting_s + 0.5


def test_one_switch_reaches_the_menu_changes_the_key_and_leaves():
    board, feet = a_board(), Feet(ActionMap(1))
    now_s = stamp(board, feet, 1.0, 1.5)  # a foot that stays
    assert isinstance(board.screen(), MenuScreen)
    now_s = stamp(board, feet, now_s, 0.8)  # long: change this row
    assert board.screen().editing
    now_s = stamp(board, feet, now_s, 0.1)  # short: the next value
    assert board.screen().value == "Ab"
    now_s = stamp(board, feet, now_s, 0.8)  # long: take it
    stamp(board, feet, now_s, 1.5)  # a foot that stays: leave
    assert isinstance(board.screen(), WatchScreen)
    assert str(board.settings.key) == "Ab minor pentatonic"


def test_the_set_up_is_asked_for_in_the_menu():
    """The board cannot do it itself: it says so to whoever runs it, and the menu is closed."""
    board = a_board()
    press(board, "menu")
    go_to(board, "set-up")
    assert (board.screen().value, board.set_up_wanted) == ("begin", False)
    press(board, "again")
    assert board.set_up_wanted
    assert isinstance(board.screen(), WatchScreen)
