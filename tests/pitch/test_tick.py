"""Ticks of many hops at once are those of each alone, and what their sums say they are."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.pitch import make_tracker
from pedal.pitch.intake import Intake
from pedal.pitch.tick import ticks_of

RATE, HOP = 48_000, 128


@pytest.mark.parametrize("count", [22, 32])
@pytest.mark.parametrize("number", [1, 2, 7])
def test_the_sums_are_those_of_squares_and_of_squared_differences(count: int, number: int) -> None:
    samples = np.random.default_rng(count).normal(size=1 + number * count).astype(np.float32)
    exact = samples.astype(np.float64)
    ticks = np.array(ticks_of(samples, count))
    assert ticks[:, 0] == pytest.approx((exact[1:] ** 2).reshape(number, count).sum(axis=1), rel=1e-5)
    assert ticks[:, 1] == pytest.approx((np.diff(exact) ** 2).reshape(number, count).sum(axis=1), rel=1e-5)


def test_one_tick_alone_is_to_the_last_bit_what_it_is_among_others() -> None:
    samples = np.random.default_rng(1).normal(size=1 + 6 * 32).astype(np.float32)
    alone = [ticks_of(samples[32 * at : 32 * at + 33], 32)[0] for at in range(6)]
    assert ticks_of(samples, 32) == alone


@pytest.mark.parametrize("rate", [44_100, 48_000, 96_000, 192_000])
def test_parts_fed_at_once_are_to_the_last_bit_those_fed_one_by_one(rate: int) -> None:
    part = 8 * round(rate * HOP / RATE / 8)
    x = np.random.default_rng(2).normal(size=60 * part).astype(np.float32)
    many, few = Intake(rate, part, 12), Intake(rate, part, 12)
    for start in range(0, len(x), 12 * part):
        many.feed(x[start : start + 12 * part])
        many.step(many.waiting)
    for start in range(0, len(x), part):
        few.feed(x[start : start + part])
        few.step(few.waiting)
    assert many.heard == few.heard > 0
    assert np.array_equal(many.newest(2000), few.newest(2000))


@pytest.mark.parametrize("rate", [32_000, 44_100, 48_000])
def test_readings_do_not_depend_on_how_many_blocks_come_at_once(rate: int) -> None:
    """A string of 196 Hz that is bent: at 32 kHz a hop is no whole number of inner samples."""
    hop = 8 * round(rate * HOP / RATE / 8)
    t = np.arange(90 * hop) / rate
    x = np.where(t > 0.05, np.sin(2 * np.pi * 196.0 * (t + t * t / 8)) * np.exp(-3 * t), 0.0).astype(np.float32)
    one, all_at_once = make_tracker(rate, hop), make_tracker(rate, hop)
    readings = [reading for start in range(0, len(x), hop) for reading in one.push(x[start : start + hop])]
    assert all_at_once.push(x) == readings
    assert sum(reading.hz > 0 for reading in readings) > 40
