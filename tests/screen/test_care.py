"""Panels age by their light: when it dims, how far the picture wanders, and how it is dressed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.screen.care import WANDER, brightness, dressed, shift_at
from pedal.screen.drawing import draw
from pedal.screen.samples import samples

# Written out, and not taken from the code, so that a change of it is seen.
DIM_SHARE, WANDER_EVERY_S = 0.25, 60.0

PICTURES = {name: draw(model) for name, model in samples().items()}


def dots(bitmap):
    return int(np.count_nonzero(np.asarray(bitmap)))


@pytest.mark.parametrize(
    ("idle_s", "share"), [(0.0, 1.0), (119.9, 1.0), (120.0, DIM_SHARE), (899.0, DIM_SHARE), (900.0, 0.0), (1e6, 0.0)]
)
def test_bright_then_dim_then_dark(idle_s, share):
    assert brightness(idle_s, dim_after_s=120.0, blank_after_s=900.0) == share


@given(st.floats(0, 1e5), st.floats(0, 1e5), st.floats(1, 1e4), st.floats(1, 1e4))
def test_it_never_gets_brighter_while_idle(a_s, b_s, dim_s, blank_s):
    first, later = sorted((a_s, b_s))
    assert brightness(later, dim_after_s=dim_s, blank_after_s=blank_s) <= brightness(
        first, dim_after_s=dim_s, blank_after_s=blank_s
    )


def test_the_picture_wanders_one_dot_around_the_middle_and_comes_back():
    stops = [shift_at(WANDER_EVERY_S * n) for n in range(len(WANDER) + 1)]
    assert len(set(stops)) == 9
    assert stops[0] == stops[-1] == (0, 0)
    for (ax, ay), (bx, by) in zip(stops, stops[1:], strict=False):
        assert max(abs(ax - bx), abs(ay - by)) <= 2
    assert {x for x, _ in stops} == {y for _, y in stops} == {-1, 0, 1}


@given(st.floats(0, 1e6))
def test_it_stays_for_the_whole_time(shown_s):
    assert shift_at(shown_s // WANDER_EVERY_S * WANDER_EVERY_S + 1.0) == shift_at(shown_s)


@pytest.mark.parametrize("name", [name for name in PICTURES if not name.startswith("menu")])
@pytest.mark.parametrize("shift", WANDER)
def test_wandering_loses_next_to_nothing(name, shift):
    """The layouts keep the outer dots free: what is lost is at most the edge of a ground or a place rail."""
    before, after = dots(PICTURES[name]), dots(dressed(PICTURES[name], shift=shift))
    assert 0 <= before - after <= 0.02 * before


def test_half_a_turn_twice_is_none():
    picture = PICTURES["watch flat"]
    turned = dressed(picture, rotation=180)
    assert turned.getpixel((127, 63)) == picture.getpixel((0, 0))
    assert dressed(turned, rotation=180).tobytes() == picture.tobytes()


def test_inverse_lights_what_was_dark():
    picture = PICTURES["watch flat"]
    inverse = dressed(picture, inverse=True)
    assert inverse.mode == "1"
    assert dots(inverse) == 128 * 64 - dots(picture)
    assert dressed(inverse, inverse=True).tobytes() == picture.tobytes()


def test_undressed_it_is_the_same():
    picture = PICTURES["watch flat"]
    assert dressed(picture).tobytes() == picture.tobytes()


@pytest.mark.parametrize("rotation", [90, 270, 1, -180])
def test_other_turns_are_refused(rotation):
    with pytest.raises(ValueError, match=f"rotation must be 0 or 180 degrees, got {rotation}"):
        dressed(PICTURES["message"], rotation=rotation)
