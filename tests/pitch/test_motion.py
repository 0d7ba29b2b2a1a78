"""A moving pitch: true at its own time stamp, and shown in time."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from string_takes import RATE, cents, hear, note_hz, string, take

from pedal.pitch.motion import SMOOTHED_TICKS, Motion

TICK_S = 128 / 48_000


def bent(rest_hz: float, height_cents: float, rise_s: float, seconds: float = 1.0) -> NDArray[np.float64]:
    """Rests 0.3 s, rises along a cosine, stays."""
    t = np.arange(int(seconds * RATE)) / RATE
    share = np.clip((t - 0.3) / rise_s, 0, 1)
    return rest_hz * 2 ** (height_cents * (0.5 - 0.5 * np.cos(np.pi * share)) / 1200)


def swung(rest_hz: float, width_cents: float, rate_hz: float) -> NDArray[np.float64]:
    t = np.arange(RATE) / RATE
    return rest_hz * 2 ** (width_cents * np.sin(2 * np.pi * rate_hz * np.maximum(0, t - 0.25)) / 1200)


def truth_at(curve: NDArray[np.float64], times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.interp(times_s * RATE, np.arange(len(curve)), curve)


@pytest.mark.parametrize("midi", [40, 50, 59, 67, 76])
@pytest.mark.parametrize(("height", "rise_s"), [(100, 0.1), (200, 0.2), (300, 0.3)])
def test_a_bend_is_true_where_it_is_stamped_and_shown_in_time(midi: int, height: float, rise_s: float) -> None:
    curve = bent(note_hz(midi), height, rise_s)
    heard = hear(take(string(curve, 1.0)))
    moving = (heard.time_s > 0.3) & (heard.time_s < 0.3 + rise_s)
    aligned = np.abs(cents(heard.hz, truth_at(curve, heard.time_s)))[moving]
    assert np.percentile(aligned, 95) < 5, "against the truth at the reading's own time"
    shown = (heard.heard_s > 0.3) & (heard.heard_s < 0.3 + rise_s + 0.03)
    felt = np.abs(cents(heard.now_hz, truth_at(curve, heard.heard_s)))[shown]
    slow = 2.5 if midi < 45 else 1.0
    assert np.median(felt) < 4 * slow, "what the meter shows against the truth right then"
    assert felt.max() < 40 * slow


@pytest.mark.parametrize(("midi", "height"), [(62, 300), (63, 200), (70, 200)])
def test_a_bend_is_true_where_the_window_takes_one_more_period(midi: int, height: float) -> None:
    """At 335, 502, 668 ... Hz the filter grows by a period: the middle of what it looks at moves."""
    curve = bent(note_hz(midi), height, 0.3)
    heard = hear(take(string(curve, 1.0)))
    moving = (heard.time_s > 0.3) & (heard.time_s < 0.6)
    assert np.abs(cents(heard.hz, truth_at(curve, heard.time_s)))[moving].max() < 3


def test_the_reading_is_the_slope_over_the_time_that_was_measured() -> None:
    motion = Motion(TICK_S)
    for seconds in (*(TICK_S,) * 5, 0.45 * TICK_S, *(TICK_S,) * 5):
        motion.hear(100.0, seconds, 1e-6)
    cents_told, ago_s = motion.smooth()
    assert cents_told == pytest.approx(100.0)
    assert ago_s == pytest.approx(TICK_S * np.mean([0, 1, 2, 3, 4, 5, 5.45, 6.45, 7.45, 8.45]))


@pytest.mark.parametrize(("from_hz", "to_hz", "rate"), [(1174.66, 1046.5, 44_100), (1661.2, 1480.0, 48_000)])
def test_a_falling_pitch_is_not_jolted_by_a_partial_that_comes_within_reach(
    from_hz: float, to_hz: float, rate: int
) -> None:
    """Below 1102 and 1470 Hz at 44.1 kHz, below 1200 and 1600 at 48, one partial more is followed."""
    t = np.arange(rate) / rate
    share = np.clip((t - 0.3) / 0.3, 0, 1)
    curve = from_hz * (to_hz / from_hz) ** (share * share * (3 - 2 * share))
    turns = np.cumsum(curve) / rate
    bright = sum(a * np.sin(2 * np.pi * k * turns) for k, a in enumerate((1, 0.6, 0.5, 0.45), 1)) * np.exp(-t / 2)
    heard = hear(take(bright / np.abs(bright).max(), rate=rate), rate=rate)
    moving = (heard.heard_s > 0.33) & (heard.heard_s < 0.6)
    truth = np.interp(heard.heard_s * rate, np.arange(len(curve)), curve)
    assert np.abs(cents(heard.now_hz, truth))[moving].max() < 4


@pytest.mark.parametrize("midi", [45, 57, 69])
def test_vibrato_keeps_its_width_and_mean(midi: int) -> None:
    curve = swung(note_hz(midi), 25, 5.5)
    heard = hear(take(string(curve, 1.0)))
    rows = (heard.time_s > 0.3) & (heard.time_s < 0.3 + 3 / 5.5)
    off = cents(heard.hz, note_hz(midi))[rows]
    assert off.mean() == pytest.approx(0, abs=0.5)
    assert np.ptp(off) == pytest.approx(50, abs=2)


def test_a_steady_pitch_stays_where_it_is() -> None:
    motion = Motion(TICK_S)
    for _ in range(400):
        motion.hear(7.0, TICK_S, 1e-6)
    assert motion.cents == pytest.approx(7.0, abs=1e-3)
    assert motion.ahead(0.02) == pytest.approx(7.0, abs=1e-2)
    assert motion.smooth() == (pytest.approx(7.0, abs=1e-6), pytest.approx((SMOOTHED_TICKS - 1) / 2 * TICK_S))


@pytest.mark.parametrize("speed", [-1200.0, 300.0, 2000.0])
def test_a_steady_glide_is_looked_ahead_along(speed: float) -> None:
    motion = Motion(TICK_S)
    for tick in range(200):
        motion.hear(speed * (tick + 0.5) * TICK_S, TICK_S, 1e-5)
    now = speed * 200 * TICK_S
    assert motion.cents == pytest.approx(now, abs=0.2)
    assert motion.ahead(0.01) == pytest.approx(now + 0.01 * speed, abs=0.3)


def test_noise_is_smoothed_the_more_the_louder_it_is_said_to_be(rng: np.random.Generator) -> None:
    def wander(variance: float) -> float:
        motion, last, shown = Motion(TICK_S), 0.0, []
        for jitter in 0.03 * np.random.default_rng(3).normal(size=300):
            motion.hear((jitter - last) / TICK_S, TICK_S, variance)
            last = jitter
            shown.append(motion.cents)
        return float(np.std(shown[50:]))

    assert wander(1e-2) < 0.5 * wander(1e-5)
