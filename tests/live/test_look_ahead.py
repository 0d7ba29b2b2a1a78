"""The picture shows where a moving string will be when it lights up, and a held one where it is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.live.look_ahead import LookAhead

STEP_S = 128 / 48_000


def risen(cents: float) -> float:
    return 440.0 * 2 ** (cents / 1200)


def led(cents_a_s: float, *, delay_s: float = 0.03, seconds: float = 0.4, from_s: float = 7.0) -> tuple[float, bool]:
    """How far ahead the last picture of a steady rise is, cents; and whether the string is said to move."""
    look, drawn, at = LookAhead(), 0.0, 0.0
    for step in range(round(seconds / STEP_S)):
        at = cents_a_s * step * STEP_S
        drawn = look.ahead(from_s + step * STEP_S, risen(at), delay_s)
    return 1200 * math.log2(drawn / risen(at)), look.moving


@pytest.mark.parametrize("delay_s", [0.01, 0.03, 0.05])
@pytest.mark.parametrize("cents_a_s", [50.0, 400.0, 1100.0, -50.0, -400.0, -1100.0])
def test_a_steady_rise_is_drawn_where_it_will_be(cents_a_s: float, delay_s: float) -> None:
    ahead, moving = led(cents_a_s, delay_s=delay_s)
    assert moving
    assert ahead == pytest.approx(cents_a_s * delay_s, rel=1e-3)


@pytest.mark.parametrize(("after_s", "share"), [(0.03, 1 - 1 / math.e), (0.06, 1 - 1 / math.e**2)])
def test_a_slope_is_believed_by_and_by_with_thirty_milliseconds(after_s: float, share: float) -> None:
    ahead, _ = led(400.0, seconds=after_s + STEP_S)
    assert ahead == pytest.approx(400.0 * 0.03 * share, rel=0.06)


@pytest.mark.parametrize(("cents_a_s", "ahead"), [(2500.0, 60.0), (-2500.0, -60.0)])
def test_it_is_never_led_by_more_than_sixty_cents(cents_a_s: float, ahead: float) -> None:
    assert led(cents_a_s)[0] == pytest.approx(ahead)


@pytest.mark.parametrize(
    ("cents_a_s", "moving"), [(0.0, False), (39.0, False), (-39.0, False), (41.0, True), (-41.0, True)]
)
def test_what_hardly_moves_is_drawn_where_it_is(cents_a_s: float, moving: bool) -> None:
    ahead, told = led(cents_a_s)
    assert told == moving
    assert (abs(ahead) > 1.0) == moving


@pytest.mark.parametrize(("step_cents", "moving"), [(149.0, True), (151.0, False), (-149.0, True), (-151.0, False)])
def test_a_step_to_another_note_is_no_bend(step_cents: float, moving: bool) -> None:
    look = LookAhead()
    look.ahead(1.0, risen(0.0), 0.03)
    look.ahead(1.0 + STEP_S, risen(step_cents), 0.03)
    assert look.moving == moving


@pytest.mark.parametrize(("hz", "delay_s"), [(0.0, 0.03), (-1.0, 0.03), (440.0, 0.0), (440.0, -0.1)])
def test_silence_and_no_delay_forget_what_moved(hz: float, delay_s: float) -> None:
    look = LookAhead()
    for step in range(100):
        look.ahead(step * STEP_S, risen(800.0 * step * STEP_S), 0.03)
    assert look.moving
    assert look.ahead(1.0, hz, delay_s) == hz
    assert not look.moving
    assert look.ahead(1.001, risen(140.0), 0.03) == risen(140.0), "the first pitch after it has no slope"


@given(st.lists(st.tuples(st.floats(-1.0, 1.0), st.floats(20.0, 5000.0)), max_size=30), st.floats(0.0, 0.2))
def test_whatever_comes_even_backwards_it_is_led_by_sixty_cents_at_most(
    steps: list[tuple[float, float]], delay_s: float
) -> None:
    look, now_s = LookAhead(), 10.0
    for step_s, hz in steps:
        now_s += step_s
        drawn = look.ahead(now_s, hz, delay_s)
        assert abs(1200 * math.log2(drawn / hz)) <= 60.0 + 1e-6
