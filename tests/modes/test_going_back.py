"""Back a target, in Ladder and Blind: to the one before in the order that they are asked for."""

from __future__ import annotations

import pytest
from playing import a_pedal, press

from pedal.modes.pedal import Pedal, PedalState

ORDERS = ("in_order", "lightest_first", "by_need")


def place(pedal: Pedal) -> tuple[int, int]:
    shown = pedal.screen()
    return shown.string, shown.fret


def walked(pedal: Pedal, action: str, times: int) -> list[tuple[int, int]]:
    """Where it stood, and after each press."""
    places = [place(pedal)]
    for _ in range(times):
        press(pedal, action)  # type: ignore[arg-type]
        places.append(place(pedal))
    return places


@pytest.mark.parametrize("mode", ["ladder", "blind"])
@pytest.mark.parametrize("order", ORDERS)
def test_back_goes_the_way_that_was_come(mode: str, order: str) -> None:
    pedal = a_pedal(mode=mode, order=order, position=3)
    there = walked(pedal, "next_target", 6)
    assert len(set(there)) > 1, "else this test says nothing"
    assert walked(pedal, "previous_target", 6) == there[::-1]


@pytest.mark.parametrize("mode", ["ladder", "blind"])
@pytest.mark.parametrize("order", ORDERS)
def test_back_passes_over_what_was_crossed_off_on_the_way(mode: str, order: str) -> None:
    pedal = a_pedal(mode=mode, order=order)
    first = place(pedal)
    press(pedal, "next_target", "cross_off", "previous_target")
    assert place(pedal) == first


@pytest.mark.parametrize("order", ORDERS)
def test_back_from_the_summary_goes_to_the_rung_that_was_last(order: str) -> None:
    pedal = a_pedal(mode="ladder", order=order)
    places = walked(pedal, "next_target", 11)
    press(pedal, "next_target", "previous_target")
    assert place(pedal) == places[-1]


def test_back_from_the_lightest_is_the_heaviest_in_the_ring_of_blind_and_nothing_on_the_ladder() -> None:
    pedal = a_pedal(mode="blind", order="lightest_first")
    heaviest = max(pedal.settings.rungs(), key=lambda rung: rung.force_n)
    press(pedal, "previous_target")
    assert place(pedal) == (heaviest.string, heaviest.fret)
    ladder = a_pedal(mode="ladder", order="lightest_first")
    assert walked(ladder, "previous_target", 1)[0] == place(ladder)


def test_by_need_nothing_was_before_the_first_one_nor_after_a_power_cut() -> None:
    """The tries of the evening have moved the order: nobody can say which one it was."""
    for mode in ("ladder", "blind"):
        pedal = a_pedal(mode=mode, order="by_need")
        assert len(set(walked(pedal, "previous_target", 2))) == 1
        press(pedal, "next_target")
        later = Pedal(PedalState(mode=mode, order="by_need"), pedal.memory())  # type: ignore[arg-type]
        assert len(set(walked(later, "previous_target", 1))) == 1
