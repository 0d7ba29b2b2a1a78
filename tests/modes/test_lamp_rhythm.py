"""One lamp tells true, near and too loud apart by rhythm alone, and never flashes faster than is safe."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.modes.lamp_rhythm import LampRhythm, lamp_level

# Written out, and not taken from the code, so that a change of it is seen.
CLIP_PERIOD_S, NEAR_GAP_S, NEAR_S, TRUE_S = 0.36, 0.25, 0.2, 1.2

STEP_S = 0.01
SAFE_FLASHES_A_SECOND = 3
"""WCAG 2.2, success criterion 2.3.1 (from memory)."""


def flashes(levels: list[float]) -> list[float]:
    """Times at which the lamp goes on."""
    return [STEP_S * n for n in range(1, len(levels)) if levels[n] > levels[n - 1]]


def said(word: str, *, seconds: float = 3.0, clipped: bool = False) -> list[float]:
    rhythm = LampRhythm()
    rhythm.level(0.0, "", clipped=False)
    return [rhythm.level(STEP_S * n, word if n else "", clipped=clipped) for n in range(round(seconds / STEP_S))]


@pytest.mark.parametrize(("word", "times", "lit_s"), [("true", 1, TRUE_S), ("near", 2, 2 * NEAR_S), ("flat", 0, 0.0)])
def test_true_is_one_long_light_near_two_short_ones_a_miss_is_dark(word, times, lit_s):
    levels = said(word)
    assert len(flashes(levels)) == times
    assert sum(levels) * STEP_S == pytest.approx(lit_s, abs=3 * STEP_S)


@pytest.mark.parametrize(
    ("word", "age_s", "clipped_s", "lit"),
    [
        ("true", -0.001, None, 0), ("true", 0.0, None, 1), ("true", 1.199, None, 1), ("true", 1.2, None, 0),
        ("near", -0.001, None, 0), ("near", 0.0, None, 1), ("near", 0.199, None, 1), ("near", 0.2, None, 0),
        ("near", 0.449, None, 0), ("near", 0.45, None, 1), ("near", 0.649, None, 1), ("near", 0.65, None, 0),
        ("near", 2.0, None, 0), ("flat", 0.0, None, 0), ("", 0.0, None, 0),
        ("flat", 0.0, 0.0, 1), ("true", 0.0, 0.179, 1), ("true", 0.0, 0.18, 0), ("near", 0.0, 0.359, 0),
        ("flat", 0.0, 0.36, 1), ("true", -1.0, 0.54, 0),
    ],
)  # fmt: skip
def test_each_light_begins_and_ends_on_time(word: str, age_s: float, clipped_s: float | None, lit: int) -> None:
    assert lamp_level(word, age_s, clipped_s=clipped_s) == lit


def test_the_shortest_gap_is_long_enough_to_be_seen():
    assert min(NEAR_S, NEAR_GAP_S, CLIP_PERIOD_S / 2) >= 0.15


def test_too_loud_flickers_as_long_as_it_lasts_and_drowns_a_verdict():
    quiet, loud = said("true"), said("true", clipped=True)
    assert len(flashes(loud)) >= 7
    assert loud != quiet


@given(st.lists(st.tuples(st.sampled_from(["", "true", "near", "flat", "sharp"]), st.booleans()), max_size=40))
def test_never_more_than_three_flashes_in_a_second_while_it_is_steadily_too_loud(words):
    rhythm, levels = LampRhythm(), [0.0]
    for n in range(400):
        word, _ = words[n % len(words)] if words else ("", False)
        levels.append(rhythm.level(STEP_S * n, word, clipped=True))
    for start in np.arange(0.0, 3.0, 0.1):
        assert sum(start <= at_s < start + 1.0 for at_s in flashes(levels)) <= SAFE_FLASHES_A_SECOND


def test_the_same_verdict_twice_is_said_twice():
    rhythm = LampRhythm()
    levels = []
    for n in range(600):
        word = "true" if 10 <= n < 200 or n >= 300 else ""
        levels.append(rhythm.level(STEP_S * n, word, clipped=False))
    assert flashes(levels) == [pytest.approx(0.1), pytest.approx(3.0)]


def test_a_new_note_does_not_cut_the_light_short():
    rhythm = LampRhythm()
    rhythm.level(0.0, "true", clipped=False)
    assert rhythm.level(0.5, "", clipped=False) == 1.0


def test_before_anything_was_said_it_is_dark():
    assert LampRhythm().level(100.0, "", clipped=False) == 0.0
    assert lamp_level("true", -1.0) == 0.0
