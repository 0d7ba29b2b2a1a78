"""Players: chosen in the menu, each with crossed-off bends, hand, order by need, look back and log of their own."""

from __future__ import annotations

from dataclasses import replace

from playing import a_board, a_verdict, ended, play, press

from pedal.modes.board import Board, BoardSettings
from pedal.modes.log_entry import LogEntry
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import RoundStartScreen

TWO = {"players": ("Ann", "Ben"), "player": "Ann"}


def choose(board: Board, name: str) -> None:
    press(board, "menu")
    while board.screen().items[board.screen().index] != "player":
        press(board, "next_target")
    press(board, "again")
    while board.screen().value != name:
        press(board, "next_target")
    press(board, "again", "menu")


def bend(board: Board, error: float = 0.0, word: str = "true") -> list[LogEntry]:
    rung = board.screen()
    verdict = a_verdict(rest_note=rung.note, target_note=rung.target, error_cents=error, verdict=word)
    return play(board, *ended(verdict))


def test_what_is_logged_says_who_played():
    board = a_board(mode="ladder", **TWO)
    assert [entry.player for entry in bend(board)] == ["Ann"]
    choose(board, "Ben")
    assert [entry.player for entry in bend(board)] == ["Ben"]
    choose(board, "guest")
    assert [entry.player for entry in bend(board)] == [None]


def test_each_has_crossed_off_bends_of_their_own_and_they_outlive_a_power_cut():
    board = a_board(mode="ladder", **TWO)
    press(board, "cross_off")
    choose(board, "Ben")
    assert board.settings.crossed_off == frozenset()
    press(board, "skip", "cross_off")
    ann, ben = frozenset({Crossing(6, 3, 3)}), frozenset({Crossing(6, 6, 2)})
    assert board.settings.crossed_off == ben
    later = Board(BoardSettings(mode="ladder", **TWO), board.memory())
    assert (later.settings.player, later.settings.crossed_off) == ("Ben", ben)
    choose(later, "Ann")
    assert later.settings.crossed_off == ann
    assert later.screen().rungs[0] == "crossed"


def test_a_player_whom_the_settings_lost_leaves_nobody_their_list():
    board = a_board(mode="ladder", **TWO)
    choose(board, "Ben")
    press(board, "cross_off")
    later = Board(BoardSettings(mode="ladder", players=("Ann",), player="Ann"), board.memory())
    assert (later.settings.player, later.settings.crossed_off) == ("Ann", frozenset())


def test_each_has_an_order_by_need_of_their_own_also_from_the_log():
    board = a_board(mode="ladder", order="by_need", **TWO)
    for _ in range(12):
        bend(board, -40.0 if board.screen().target == "F4" else 0.0)
    press(board, "again")
    assert board.screen().target == "F4"
    choose(board, "Ben")
    assert board.screen().target == "Bb2", "nothing is known of Ben"
    press(board, "menu", "menu")
    past = [replace(entry, time_s=-500.0) for entry in bend(board, -90.0, "flat")]
    later = Board(BoardSettings(mode="ladder", order="by_need", **TWO | {"player": "Ben"}), {}, past)
    assert later.screen().target == "Bb2"
    assert Board(BoardSettings(mode="ladder", order="by_need", **TWO), {}, past).screen().target == "Bb2"
    press(later, "skip")
    assert later.screen().target != "Bb2"


def test_each_has_a_hand_of_their_own():
    hands = (("Ann", 9.0), ("Ben", 14.0))
    heavy = {}
    for name in ("Ann", "Ben"):
        place = BoardSettings(players=("Ann", "Ben"), player=name, hands=hands)
        heavy[name] = {rung.crossing for rung in place.rungs() if "heavy" in rung.support}
    assert heavy["Ben"] < heavy["Ann"]
    usual = {rung.crossing for rung in BoardSettings().rungs() if "heavy" in rung.support}
    assert heavy["Ben"] < usual < heavy["Ann"]


def test_each_looks_back_over_their_own_session():
    board = a_board(mode="ladder", **TWO)
    bend(board)
    choose(board, "Ben")
    press(board, "recall")
    assert board.screen().tries == 0
    press(board, "back")
    choose(board, "Ann")
    press(board, "recall")
    assert board.screen().tries == 1


def test_another_player_ends_a_round_and_has_heavy_bends_of_their_own_left():
    board = a_board(mode="round", **TWO)
    press(board, "next_target")
    choose(board, "Ben")
    assert isinstance(board.screen(), RoundStartScreen)
    assert board.screen().heavy_left == 10
