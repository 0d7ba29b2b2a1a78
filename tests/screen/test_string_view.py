"""The string: it rises with the pitch and never falls back, touches the post when it is true, and shows small moves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.modes.screen_model import StringPicture
from pedal.screen.canvas import Canvas
from pedal.screen.string_view import (
    Field,
    bows,
    draw_string,
    in_zone,
    level_of,
    on_post,
    row_of,
    scale_of_heights,
    share_of_rise,
)

# Written out, and not taken from the code, so that a change of it is seen.
LENS_CENTS = 50.0

FIELD = Field(x=1, columns=126, rest_y=58, rise=30)
TARGETS = st.sampled_from([None, 50.0, 100.0, 200.0, 300.0, 500.0])


def drawn(picture: StringPicture) -> Canvas:
    canvas = Canvas()
    draw_string(canvas, picture, FIELD)
    return canvas


def lit(canvas: Canvas) -> int:
    return sum(canvas.bitmap.getpixel((x, y)) > 0 for x in range(128) for y in range(64))


ZONES = st.sampled_from([None, (15.0, 60.0), (5.0, 95.0)])


@given(TARGETS, ZONES, st.floats(-60, 600), st.floats(-60, 600))
def test_higher_is_never_drawn_lower(target, zone, a, b):
    scale = scale_of_heights(StringPicture(target_cents=target, zone_cents=zone))
    low, high = sorted((a, b))
    assert 0.0 <= share_of_rise(low, scale) <= share_of_rise(high, scale) <= 1.0


@given(TARGETS, ZONES)
def test_the_scale_of_heights_rises_from_rest_to_the_top(target, zone):
    scale = scale_of_heights(StringPicture(target_cents=target, zone_cents=zone))
    assert scale[0] == (0.0, 0.0)
    assert scale[-1][1] == 1.0
    assert all(a[0] < b[0] and a[1] < b[1] for a, b in zip(scale, scale[1:], strict=False))


def test_a_note_that_may_curl_or_bend_shows_zone_and_post():
    """In Watch the minor third may do either: neither hides the other, and both are large enough to aim at."""
    picture = StringPicture(None, 200.0, (15.0, 60.0))
    low, high, post = (row_of(cents, picture, FIELD) for cents in (15.0, 60.0, 200.0))
    assert low - high >= 7
    assert high - post >= 8
    curled = drawn(StringPicture(40.0, 200.0, (15.0, 60.0)))
    bent = drawn(StringPicture(200.0, 200.0, (15.0, 60.0)))
    assert lit(curled) > lit(drawn(StringPicture(70.0, 200.0, (15.0, 60.0)))) + 100
    assert lit(bent) > lit(drawn(StringPicture(180.0, 200.0, (15.0, 60.0)))) + 250


@pytest.mark.parametrize("target", [50.0, 100.0, 200.0, 300.0])
def test_the_post_stands_in_one_place(target):
    """Wherever the bend goes: the eye knows where to look."""
    at = StringPicture(target_cents=target)
    assert row_of(target, at, FIELD) == row_of(200.0, StringPicture(target_cents=200.0), FIELD)
    assert row_of(0.0, at, FIELD) == FIELD.rest_y


@pytest.mark.parametrize("target", [100.0, 200.0, 300.0])
def test_near_the_target_a_row_is_worth_five_cents_at_most(target):
    at = StringPicture(target_cents=target)
    for cents in range(-int(LENS_CENTS), int(LENS_CENTS) - 5, 5):
        below, above = level_of(target + cents, at, FIELD), level_of(target + cents + 5, at, FIELD)
        assert below - above >= 0.99


@pytest.mark.parametrize("target", [100.0, 200.0, 300.0])
def test_two_cents_near_the_target_change_the_picture(target):
    """The parts of a row travel along the string."""
    for cents in range(-30, 30, 2):
        a = drawn(StringPicture(target + cents, target, true_cents=0.0)).bitmap.tobytes()
        b = drawn(StringPicture(target + cents + 2, target, true_cents=0.0)).bitmap.tobytes()
        assert a != b, cents


def test_a_true_string_is_a_block_of_light_that_a_false_one_is_not():
    """What tells in the corner of the eye: three times the light above the string."""
    true = lit(drawn(StringPicture(200.0, 200.0)))
    flat = lit(drawn(StringPicture(185.0, 200.0)))
    sharp = lit(drawn(StringPicture(215.0, 200.0)))
    assert true > flat + 250
    assert true > sharp + 250


@pytest.mark.parametrize(
    ("picture", "true"),
    [
        (StringPicture(190.0, 200.0), True),
        (StringPicture(189.9, 200.0), False),
        (StringPicture(210.0, 200.0), True),
        (StringPicture(210.1, 200.0), False),
        (StringPicture(206.0, 200.0, true_cents=5.0), False),
        (StringPicture(15.0, None, (15.0, 60.0)), True),
        (StringPicture(14.9, None, (15.0, 60.0)), False),
        (StringPicture(60.1, None, (15.0, 60.0)), False),
        (StringPicture(None, 200.0), False),
        (StringPicture(100.0), False),
    ],
)
def test_when_the_string_touches(picture, true):
    assert (on_post(picture) or in_zone(picture)) == true


@pytest.mark.parametrize("cents", [-40.0, 0.0, 30.0, 128.0, 200.0, 350.0, 900.0])
def test_the_ends_stay_and_the_middle_moves(cents):
    picture = StringPicture(cents)
    canvas = drawn(picture)
    row = row_of(cents, picture, FIELD)
    assert canvas.bitmap.getpixel((1, FIELD.rest_y + 1))
    assert canvas.bitmap.getpixel((126, FIELD.rest_y + 1))
    assert all(canvas.bitmap.getpixel((FIELD.middle, row + n)) for n in range(FIELD.thickness))


@given(st.floats(-60, 600), TARGETS, st.sampled_from([None, (15.0, 60.0)]), st.one_of(st.none(), st.floats(0, 600)))
def test_nothing_is_drawn_outside_the_field(cents, target, zone, peak):
    canvas = drawn(StringPicture(cents, target, zone, peak))
    left, top, right, bottom = canvas.bitmap.getbbox()
    assert left >= 1
    assert right <= 127
    assert top >= FIELD.top - 3
    assert bottom <= 63


def test_the_notch_remembers_the_highest_point():
    without = drawn(StringPicture(100.0, 200.0, None, None))
    with_notch = drawn(StringPicture(100.0, 200.0, None, 180.0))
    assert with_notch.bitmap.tobytes() != without.bitmap.tobytes()
    pluck = drawn(StringPicture(0.0, 200.0, None, 8.0))
    assert pluck.bitmap.tobytes() == drawn(StringPicture(0.0, 200.0)).bitmap.tobytes(), "a hard pluck is no bend"


@given(st.floats(-60, 600), TARGETS, st.one_of(st.none(), st.floats(0, 600)))
def test_blind_tells_nothing_of_the_height(cents, target, peak):
    """Not by any dot: the answer must come from the hand."""
    assert (
        drawn(StringPicture(cents, target, None, peak, blind=True)).bitmap.tobytes()
        == drawn(StringPicture(blind=True)).bitmap.tobytes()
    )


def test_the_bow_is_round_under_the_finger_and_ends_at_the_ends():
    middle = FIELD.middle - FIELD.x
    assert bows(FIELD)[middle] == 1.0
    assert bows(FIELD)[0] == 0.0
    slopes = np.diff(bows(FIELD)[: middle + 1])
    assert (slopes >= 0).all()
    assert slopes[-1] < slopes[0] / 3
