"""Players: chosen in the menu, each with crossed-off bends, hand, order by need, look back and log of their own."""

from __future__ import annotations

from dataclasses import replace

from playing import a_pedal, a_verdict, ended, play, press

from pedal.live.memory_file import still_holding
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import remember
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import RoundStartScreen

TWO = {"players": ("Ann", "Ben"), "player": "Ann"}


def choose(pedal: Pedal, name: str) -> None:
    press(pedal, "menu")
    while pedal.screen().items[pedal.screen().index] != "player":
        press(pedal, "next_target")
    press(pedal, "again")
    while pedal.screen().value != name:
        press(pedal, "next_target")
    press(pedal, "again", "menu")


def bend(pedal: Pedal, error: float = 0.0, word: str = "true") -> list[LogEntry]:
    rung = pedal.screen()
    verdict = a_verdict(rest_note=rung.note, target_note=rung.target, error_cents=error, verdict=word)
    return play(pedal, *ended(verdict))


def test_what_is_logged_says_who_played():
    pedal = a_pedal(mode="ladder", **TWO)
    assert [entry.player for entry in bend(pedal)] == ["Ann"]
    choose(pedal, "Ben")
    assert [entry.player for entry in bend(pedal)] == ["Ben"]
    choose(pedal, "guest")
    assert [entry.player for entry in bend(pedal)] == [None]


def test_each_has_crossed_off_bends_of_their_own_and_they_outlive_a_power_cut():
    pedal = a_pedal(mode="ladder", **TWO)
    press(pedal, "cross_off")
    choose(pedal, "Ben")
    assert pedal.settings.crossed_off == frozenset()
    press(pedal, "skip", "cross_off")
    ann, ben = frozenset({Crossing(6, 3, 3)}), frozenset({Crossing(6, 6, 2)})
    assert pedal.settings.crossed_off == ben
    later = Pedal(PedalState(mode="ladder", **TWO), pedal.memory())
    assert (later.settings.player, later.settings.crossed_off) == ("Ben", ben)
    choose(later, "Ann")
    assert later.settings.crossed_off == ann
    assert later.screen().rungs[0] == "crossed"


def test_a_player_whom_the_settings_lost_leaves_nobody_their_list():
    pedal = a_pedal(mode="ladder", **TWO)
    choose(pedal, "Ben")
    press(pedal, "cross_off")
    later = Pedal(PedalState(mode="ladder", players=("Ann",), player="Ann"), pedal.memory())
    assert (later.settings.player, later.settings.crossed_off) == ("Ann", frozenset())


def test_each_has_an_order_by_need_of_their_own_also_from_the_log():
    pedal = a_pedal(mode="ladder", order="by_need", **TWO)
    for _ in range(12):
        bend(pedal, -40.0 if pedal.screen().target == "F4" else 0.0)
    press(pedal, "next_target", "again")
    assert pedal.screen().target == "F4"
    choose(pedal, "Ben")
    assert pedal.screen().target == "Bb2", "nothing is known of Ben"
    press(pedal, "menu", "menu")
    past = [replace(entry, time_s=-500.0) for entry in bend(pedal, -90.0, "flat")]
    later = Pedal(PedalState(mode="ladder", order="by_need", **TWO | {"player": "Ben"}), {}, past)
    assert later.screen().target == "Bb2"
    assert Pedal(PedalState(mode="ladder", order="by_need", **TWO), {}, past).screen().target == "Bb2"
    press(later, "skip")
    assert later.screen().target != "Bb2"


def test_each_has_a_hand_of_their_own():
    hands = (("Ann", 9.0), ("Ben", 14.0))
    heavy = {}
    for name in ("Ann", "Ben"):
        state = PedalState(players=("Ann", "Ben"), player=name, hands=hands)
        heavy[name] = {rung.crossing for rung in state.rungs() if "heavy" in rung.support}
    assert heavy["Ben"] < heavy["Ann"]
    usual = {rung.crossing for rung in PedalState().rungs() if "heavy" in rung.support}
    assert heavy["Ben"] < usual < heavy["Ann"]


def test_each_looks_back_over_their_own_session():
    pedal = a_pedal(mode="ladder", **TWO)
    bend(pedal)
    choose(pedal, "Ben")
    press(pedal, "recall")
    assert pedal.screen().tries == 0
    press(pedal, "back")
    choose(pedal, "Ann")
    press(pedal, "recall")
    assert pedal.screen().tries == 1


def test_another_player_ends_a_round_and_has_heavy_bends_of_their_own_left():
    pedal = a_pedal(mode="round", **TWO)
    press(pedal, "next_target")
    choose(pedal, "Ben")
    assert isinstance(pedal.screen(), RoundStartScreen)
    assert pedal.screen().heavy_left == 10


def test_a_player_whom_the_settings_put_first_takes_nothing_of_who_played_before():
    """Their first player is another, so that the name that was remembered no longer holds."""
    first = PedalState(mode="ladder", **TWO)
    pedal = Pedal(first)
    choose(pedal, "Ben")
    bend(pedal)
    press(pedal, "cross_off")
    now = PedalState(mode="ladder", players=("Cleo", "Ann", "Ben"), player="Cleo")
    later = Pedal(now, still_holding(pedal.memory(), then=remember(first), now=remember(now)))
    assert (later.settings.player, later.settings.crossed_off) == ("Cleo", frozenset())
    assert set(later.screen().rungs) == {"open"}
    choose(later, "Ben")
    assert later.settings.crossed_off == pedal.settings.crossed_off != frozenset()


def test_a_player_who_is_left_out_for_a_while_finds_their_list_again():
    pedal = a_pedal(mode="ladder", **TWO)
    press(pedal, "cross_off")
    alone = Pedal(PedalState(mode="ladder", players=("Ben",), player="Ben"), pedal.memory())
    assert alone.settings.crossed_off == frozenset()
    again = Pedal(PedalState(mode="ladder", **TWO), alone.memory())
    choose(again, "Ann")
    assert again.settings.crossed_off == frozenset({Crossing(6, 3, 3)})
