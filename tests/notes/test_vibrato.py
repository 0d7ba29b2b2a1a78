"""Vibrato is judged by the mean of whole cycles, and by its rate and width."""

from __future__ import annotations

import numpy as np
import pytest
from curves import glide, note_of, swing
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pedal.notes.vibrato import _evenness
from pedal.theory.cents import cents_between


@settings(max_examples=20, deadline=None)
@given(
    rate=st.floats(2.5, 8.5),
    width=st.floats(6, 70),
    cents=st.sampled_from([100.0, 200.0, 300.0]),
    noise=st.floats(0, 0.6),
)
def test_rate_width_and_mean_on_a_held_bend(rate, width, cents, noise) -> None:
    assume(width < 0.55 * cents)  # wider: below
    curve = swing(glide([(0.3, 0), (0.2, cents), (1.7, cents)]), after_s=0.7, rate_hz=rate, width_cents=width)
    note = note_of(curve, noise_cents=noise)
    assert note.shape == "rise"
    assert note.vibrato is not None
    assert note.vibrato.rate_hz == pytest.approx(rate, abs=0.3)
    assert note.vibrato.width_cents == pytest.approx(width, rel=0.2)
    assert cents_between(note.rest_hz, note.hold_hz) == pytest.approx(cents, abs=2.0 + 0.06 * width)


@pytest.mark.parametrize("width", [40.0, 60.0])
@pytest.mark.parametrize(("first", "then"), [(15.0, -8.0), (-12.0, 12.0), (25.0, -8.0)])
def test_a_note_that_begins_with_vibrato_and_stands_within_it_is_level(width, first, then) -> None:
    """No step reaches half of the way to the vibrato's own crest, which is no step that was risen to."""
    curve = swing(glide([(0.65, 0)]), after_s=0.0, rate_hz=5.0, width_cents=width)
    stands = glide([(0.07, first), (0.3, first), (0.07, then), (0.3, then)], start_cents=float(curve[-1]))
    note = note_of(np.concatenate([curve, stands]))
    assert (note.shape, note.refusal) == ("level", None)
    assert note.vibrato is not None


@pytest.mark.parametrize("width", [8.0, 20.0, 45.0])
def test_a_note_that_swings_up_from_its_fret_is_level(width) -> None:
    note = note_of(swing(glide([(1.6, 0)]), after_s=0.3, rate_hz=4.5, width_cents=width, upward=True))
    assert (note.shape, note.refusal) == ("level", None)
    assert note.vibrato is not None
    assert cents_between(233.08, note.rest_hz) == pytest.approx(0, abs=1.5)


def test_vibrato_on_a_curl_leaves_it_a_curl() -> None:
    curve = swing(glide([(0.3, 0), (0.2, 40), (1.2, 40)]), after_s=0.6, rate_hz=5.5, width_cents=10)
    note = note_of(curve)
    assert (note.shape, note.ending) == ("rise", "cut_sharp")
    assert cents_between(note.rest_hz, note.hold_hz) == pytest.approx(40, abs=1.5)


@pytest.mark.parametrize(
    "legs",
    [[(1.5, 0)], [(0.3, 0), (0.2, 200), (0.8, 200)], [(0.3, 0), (0.2, 200), (0.2, 200), (0.2, 0), (0.3, 0)]],
    ids=["level", "bend", "bend and release"],
)
def test_no_vibrato_where_none_was_played(legs) -> None:
    assert note_of(glide(legs), noise_cents=0.8).vibrato is None


def test_a_prebend_is_judged_by_the_mean_of_its_vibrato() -> None:
    curve = glide([(1.2, 200), (0.2, 0), (0.4, 0)], start_cents=200)
    shaken = swing(curve, after_s=0.25, rate_hz=5.0, width_cents=18)
    shaken[round(1.2 / 128 * 48000) :] = curve[round(1.2 / 128 * 48000) :]
    note = note_of(shaken)
    assert note.shape == "fall"
    assert cents_between(note.rest_hz, note.first_hz) == pytest.approx(200, abs=3.0)


def test_a_half_step_bend_with_very_wide_vibrato_is_still_a_bend() -> None:
    curve = swing(glide([(0.3, 0), (0.2, 100), (1.7, 100)]), after_s=0.7, rate_hz=3.0, width_cents=63)
    note = note_of(curve)
    assert note.shape == "rise"
    assert cents_between(note.rest_hz, note.hold_hz) == pytest.approx(100, abs=2.0)


@pytest.mark.parametrize(
    ("lengths", "sizes", "even"),
    [
        ((1, 1, 1, 1), (10, 10, 10, 10), 1.0),
        ((1, 2, 1, 2), (10, 10, 10, 10), 5 / 6),  # a third of their mean, half of which counts
        ((1, 1, 1, 1), (10, 20, 10, 20), 5 / 6),
        ((1, 2, 1, 2), (10, 20, 10, 20), 2 / 3),
    ],
)
def test_cycles_uneven_in_length_and_in_size_are_more_uneven_than_in_one(lengths, sizes, even) -> None:
    crossings = np.cumsum([0.0, *lengths])
    t = np.arange(0.0, crossings[-1] + 0.25, 0.5)
    c = np.zeros_like(t)
    for begun, size in zip(crossings, sizes, strict=False):
        c[t == begun + 0.5] = size
    assert _evenness(t, c, crossings) == pytest.approx(even)
