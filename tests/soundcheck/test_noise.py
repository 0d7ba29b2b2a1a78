"""Noise, hum and level of made sounds with known values, by numpy's own generator and sine."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pedal.soundcheck.levels import loudness
from pedal.soundcheck.noise import measure_noise, noise_title, noise_words

RATES = (44100, 48000, 96000)


def amplitude(db: float) -> float:
    """Of a sine whose RMS is so many dBFS."""
    return 10 ** (db / 20) * np.sqrt(2)


def made(rate: int, seconds: float, *, hiss_db: float, hum_db: float | None = None, hz: float = 50.0) -> np.ndarray:
    rng = np.random.default_rng(440)
    t = np.arange(round(seconds * rate)) / rate
    sound = 10 ** (hiss_db / 20) * rng.standard_normal(len(t))
    if hum_db is not None:  # a tenth of its power in the third harmonic
        sound += amplitude(hum_db) * np.sqrt(0.9) * np.sin(2 * np.pi * hz * t + 1)
        sound += amplitude(hum_db) * np.sqrt(0.1) * np.sin(2 * np.pi * 3 * hz * t + 2)
    return sound.astype(np.float32)


@settings(deadline=None, phases=[Phase.explicit, Phase.generate], max_examples=4)
@given(st.sampled_from(RATES), st.floats(-100, -60), st.floats(0, 30), st.sampled_from([49.9, 50.0, 50.1, 59.95, 60.1]))
def test_hum_is_told_from_hiss(rate, hiss_db, over_db, hz):
    """Hum from as loud as the hiss up to 30 dB above it."""
    noise = measure_noise(made(rate, 2.0, hiss_db=hiss_db, hum_db=hiss_db + over_db, hz=hz), rate)
    assert noise.mains_hz == pytest.approx(hz, abs=0.5)
    assert noise.hum_db == pytest.approx(hiss_db + over_db, abs=0.3)
    assert noise.hiss_db == pytest.approx(hiss_db, abs=1.0 if over_db > 20 else 0.3)


@settings(deadline=None, phases=[Phase.explicit, Phase.generate], max_examples=3)
@given(st.sampled_from(RATES), st.floats(-100, -30))
def test_hiss_alone_has_no_hum(rate, hiss_db):
    noise = measure_noise(made(rate, 2.0, hiss_db=hiss_db), rate)
    assert (noise.mains_hz, noise.hum_db) == (0.0, -140.0)
    assert noise.total_db == pytest.approx(hiss_db, abs=0.1)


@pytest.mark.parametrize("off", [-0.5, -0.1, 0.3])
def test_what_a_converter_is_off_by_is_no_noise(off):
    noise = measure_noise(made(48000, 2.0, hiss_db=-80) + np.float32(off), 48000)
    assert noise.total_db == pytest.approx(-80, abs=0.1)


def test_digital_silence_is_quiet():
    noise = measure_noise(np.zeros(96000, np.float32), 48000)
    assert (noise.total_db, noise.mains_hz, noise_title(noise)) == (-140.0, 0.0, "QUIET")


def test_a_short_piece_is_refused():
    with pytest.raises(ValueError, match=r"0\.5 s at least, got 0\.10 s"):
        measure_noise(np.zeros(4800, np.float32), 48000)


@pytest.mark.parametrize(
    ("hiss_db", "hum_db", "title", "words"),
    [
        (-80, None, "QUIET", "Quiet: noise at -80 dBFS."),
        (-62, None, "HISS", "Some hiss: -62 dBFS."),
        (-50, None, "HISS", "Much hiss: -50 dBFS."),
        (-80, -60, "HUM", "Some hum: 50 Hz at -60 dBFS."),
        (-60, -40, "HUM", "Much hum: 50 Hz at -40 dBFS."),
        (-60, -62, "HISS", "Some hiss:"),
    ],
)
def test_noise_in_words(hiss_db, hum_db, title, words):
    noise = measure_noise(made(48000, 2.0, hiss_db=hiss_db, hum_db=hum_db), 48000)
    assert noise_title(noise) == title
    assert noise_words(noise).startswith(words)


@pytest.mark.parametrize("rate", RATES)
def test_loudness_of_a_sine(rate):
    """A sine of 1 kHz at full scale less 6 dB has an RMS of -9.03 dBFS (its crest is the root of 2)."""
    t = np.arange(rate) / rate
    sound = loudness((0.5 * np.sin(2 * np.pi * 1000 * t)).astype(np.float32), rate)
    assert sound.peak_db == pytest.approx(-6.02, abs=0.02)
    assert sound.loudest_db == pytest.approx(-9.03, abs=0.15)  # a frame holds 5.3 of its periods
    assert not sound.clipped


@pytest.mark.parametrize(("peak", "clipped"), [(1.0, True), (-1.0, True), (0.99, True), (0.97, False)])
def test_full_scale_is_clipped(peak, clipped):
    samples = np.zeros(1000, np.float32)
    samples[500] = peak
    assert loudness(samples, 48000).clipped is clipped


def test_the_loudness_of_nothing_is_that_of_silence():
    assert loudness(np.zeros(0, np.float32), 48000).loudest_db == -140.0
