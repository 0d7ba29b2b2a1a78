"""The modelled string: its pitch is the curve asked for, by somebody else's measure; and it behaves like a string."""

from __future__ import annotations

import time

import numpy as np
import parselmouth
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measuring import error_cents, first_partial_hz

from pedal.synth.plucked_string import Timbre, pluck

RATE = 48_000
DRY = Timbre(pick_noise=0.0)


def flat(hz: float, seconds: float, rate: int = RATE) -> np.ndarray:
    return np.full(round(seconds * rate), hz)


def seeded() -> np.random.Generator:
    return np.random.default_rng(3)


@pytest.mark.parametrize("hz", [82.4069, 110.0, 196.0, 329.6276, 659.2551, 1174.659])
def test_a_level_note_sounds_at_its_pitch(hz: float) -> None:
    samples = pluck(flat(hz, 0.6), sample_rate=RATE, rng=seeded())
    error = error_cents(first_partial_hz(samples, RATE, hz), np.full(len(samples), hz))
    middle = error[len(error) // 4 : -len(error) // 4]
    assert abs(np.median(middle)) < 0.05, np.median(middle)


@settings(max_examples=25, deadline=None)
@given(st.floats(150, 700), st.floats(-50, 320), st.floats(0.12, 0.5))
def test_the_pitch_follows_the_curve(hz: float, cents: float, rise_s: float) -> None:
    """SciPy's analytic signal against the curve asked for, while it moves."""
    moving = np.interp(np.arange(round(0.8 * RATE)) / RATE, [0.2, 0.2 + rise_s], [0.0, cents])
    curve = hz * np.exp2(moving / 1200)
    samples = pluck(curve, sample_rate=RATE, rng=seeded(), timbre=DRY)
    error = error_cents(first_partial_hz(samples, RATE, float(np.sqrt(curve[0] * curve[-1]))), curve)
    inside = np.abs(error[round(0.08 * RATE) : -round(0.08 * RATE)])
    assert np.percentile(inside, 95) < 2.0, np.percentile(inside, 95)


def test_the_pitch_of_a_long_note_does_not_roughen() -> None:
    """Ten thousand turns on, the phase still holds its cents."""
    hz = 1174.659
    timbre = Timbre(decay_s=1000.0, damping_hz=1e6, pick_noise=0)
    samples = pluck(flat(hz, 20.0), sample_rate=RATE, rng=seeded(), timbre=timbre)
    spectrum = np.abs(np.fft.rfft(samples[-RATE:] * np.blackman(RATE)))
    between = spectrum[round(1.4 * hz) : round(1.6 * hz)]
    assert between.max() < 1e-5 * spectrum.max()


def test_praat_hears_the_whole_tone() -> None:
    """Autocorrelation of Praat 6 on a nearly harmonic string: the height of a bend within a cent."""
    curve = 220.0 * np.exp2(np.interp(np.arange(RATE) / RATE, [0.3, 0.6], [0, 200]) / 1200)
    samples = pluck(curve, sample_rate=RATE, rng=seeded(), timbre=Timbre(stiffness=1e-6, pick_noise=0))
    heard = parselmouth.Sound(samples.astype(np.float64), RATE).to_pitch_ac(0.005, 100, very_accurate=True)
    low, high = heard.get_value_at_time(0.2), heard.get_value_at_time(0.8)
    assert 1200 * np.log2(high / low) == pytest.approx(200, abs=1)


def test_stiffness_stretches_the_partials_by_the_formula() -> None:
    """f_n = n f_1 sqrt((1 + B n^2) / (1 + B)): Fletcher & Rossing, ch. 2 (from memory)."""
    stiffness, hz = 4e-4, 200.0
    samples = pluck(flat(hz, 1.0), sample_rate=RATE, rng=seeded(), timbre=Timbre(stiffness, pick_noise=0))
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 8 * len(samples)))
    for number in (2, 3, 5, 7):
        expected = number * hz * np.sqrt((1 + stiffness * number**2) / (1 + stiffness))
        near = slice(round(8 * (expected - 20)), round(8 * (expected + 20)))
        heard = (near.start + int(np.argmax(spectrum[near]))) / 8
        assert 1200 * abs(np.log2(heard / expected)) < 1.5, number


def test_the_string_decays_and_its_upper_partials_sooner() -> None:
    samples = pluck(flat(196.0, 2.0), sample_rate=RATE, rng=seeded())
    early, late = samples[RATE // 10 : RATE // 2], samples[-RATE // 2 :]
    assert np.sqrt(np.mean(late**2)) < 0.7 * np.sqrt(np.mean(early**2))

    def brightness(part: np.ndarray) -> float:
        power = np.abs(np.fft.rfft(part * np.hanning(len(part)))) ** 2
        return float(np.sum(np.fft.rfftfreq(len(part), 1 / RATE) * power) / power.sum())

    assert brightness(late) < 0.9 * brightness(early)


def test_a_pickup_over_a_node_is_deaf_to_that_partial() -> None:
    samples = pluck(flat(200.0, 0.5), sample_rate=RATE, rng=seeded(), timbre=Timbre(pickup_at=0.25, pick_noise=0))
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    fourth, third = spectrum[round(0.5 * 800)], spectrum[round(0.5 * 600)]
    assert fourth < 0.01 * third


def test_the_pick_scratches_at_the_start_only() -> None:
    clean, noisy = (
        pluck(flat(196.0, 0.3), sample_rate=RATE, rng=seeded(), timbre=Timbre(pick_noise=level)) for level in (0.0, 0.5)
    )
    scratch = np.abs(noisy / np.abs(noisy[2000:]).max() - clean / np.abs(clean[2000:]).max())
    assert scratch[: round(0.012 * RATE)].max() > 0.1
    assert scratch[round(0.013 * RATE) :].max() < 1e-3


@given(st.floats(0.01, 1.0), st.integers(1, 5000), st.sampled_from([8000, 22050, 44100, 96000]))
def test_the_peak_is_as_asked_at_any_length_and_rate(peak: float, length: int, rate: int) -> None:
    samples = pluck(np.full(length, 196.0), sample_rate=rate, rng=seeded(), peak=peak)
    assert samples.dtype == np.float32
    assert samples.shape == (length,)
    assert np.max(np.abs(samples)) == pytest.approx(peak, rel=1e-5) or length < 8


def test_the_same_seed_gives_the_same_sound() -> None:
    one, other = (pluck(flat(196.0, 0.2), sample_rate=RATE, rng=seeded()) for _ in range(2))
    assert np.array_equal(one, other)


@pytest.mark.soak  # of a clock: on a busy machine it says nothing
def test_it_renders_faster_than_anyone_plays() -> None:
    """At least 20 times real time, the best of three."""
    curve, best = flat(196.0, 2.0), float("inf")
    for _ in range(3):
        begun = time.perf_counter()
        pluck(curve, sample_rate=RATE, rng=seeded())
        best = min(best, time.perf_counter() - begun)
    assert 2.0 / best > 20, 2.0 / best


@pytest.mark.parametrize(
    "hz", [np.array([]), np.array([0.0]), np.array([100.0, -1.0]), np.array([24_000.0]), np.array([np.nan])]
)
def test_curves_that_cannot_sound_are_refused(hz: np.ndarray) -> None:
    with pytest.raises(ValueError, match="hz must hold frequencies above 0 and below 24000.0 Hz"):
        pluck(hz, sample_rate=RATE, rng=seeded())
