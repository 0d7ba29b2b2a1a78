"""A cable made of numbers: known delay, drift, loss, level, distortion, noise and hum come back as they were put in."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pedal.soundcheck.cable import NotHeardError, measure_cable
from pedal.soundcheck.cable_signal import cable_signal
from pedal.soundcheck.cable_words import CableRun, cable_remarks

RATE = 16_000
"""Low, for speed; the signal has the same shape at every rate."""
UP = 16
SIGNAL = cable_signal(RATE)


@cache
def between_the_samples() -> np.ndarray:
    """The signal read `UP` times a sample, by one long transform: as good as a perfect low-pass."""
    size = 1 << (len(SIGNAL.samples) + (1 << 12)).bit_length()
    padded = np.zeros(size)
    padded[: len(SIGNAL.samples)] = SIGNAL.samples
    return np.fft.irfft(np.fft.rfft(padded), size * UP) * UP


@cache
def intact(noise_db: float, gain_db: float) -> np.ndarray:
    """A cable at 40 millionths; that it has no hole is asked once, whatever is cut out of it then."""
    heard = through_a_cable(ppm=40, noise_db=noise_db, gain_db=gain_db)
    assert measure_cable(SIGNAL, heard).holes == 0
    heard.flags.writeable = False
    return heard


def through_a_cable(
    *, delay: float = 700.0, ppm: float = 0.0, gain_db: float = -6.0, cubic: float = 0.0, noise_db: float = -90.0,
    hum_db: float | None = None, tail: int = 9000,
) -> np.ndarray:  # fmt: skip
    """What the input has: the signal at a pace of its own (band-limited by a long transform), bent, and with noise."""
    up = between_the_samples()
    rng = np.random.default_rng(440)
    n = np.arange(len(SIGNAL.samples) + tail)
    t = (n - delay) / (1 + ppm * 1e-6) * UP
    low = np.clip(np.floor(t).astype(np.int64), 0, len(up) - 2)
    y = np.where((t >= 0) & (t <= len(up) - 1), up[low] + (t - low) * (up[low + 1] - up[low]), 0.0)
    y = 10 ** (gain_db / 20) * (y + cubic * y**3)
    y += 10 ** (noise_db / 20) * rng.standard_normal(len(n))
    if hum_db is not None:
        y += 10 ** (hum_db / 20) * np.sqrt(2) * np.sin(2 * np.pi * 50.0 * n / RATE)
    return y.astype(np.float32)


@settings(deadline=None, max_examples=5, phases=[Phase.explicit, Phase.generate])
@given(st.floats(0, 8000), st.floats(-200, 200), st.floats(-30, 6))
def test_delay_drift_and_level_come_back(delay, ppm, gain_db):
    figures = measure_cable(SIGNAL, through_a_cable(delay=delay, ppm=ppm, gain_db=gain_db))
    assert figures.offset_samples == pytest.approx(delay + np.median(SIGNAL.marks[10:]) * ppm * 1e-6, abs=0.3)
    assert figures.drift_ppm == pytest.approx(ppm, abs=0.01)
    assert figures.gain_db == pytest.approx(gain_db, abs=0.05)
    assert (figures.lost_samples, figures.added_samples, figures.inverted) == (0, 0, False)


@settings(deadline=None, max_examples=5, phases=[Phase.explicit, Phase.generate])
@given(st.integers(3, 1500), st.integers(1, 18), st.sampled_from([-80.0, 0.0, 80.0]))
def test_lost_samples_are_counted_exactly(lost, after_mark, ppm):
    """Cut out between two marks, while the clocks drift."""
    heard = through_a_cable(ppm=ppm)
    at = SIGNAL.marks[after_mark] + round(0.3 * RATE) + 700
    figures = measure_cable(SIGNAL, np.concatenate([heard[:at], heard[at + lost :]]))
    assert (figures.lost_samples, figures.added_samples) == (lost, 0)
    assert figures.drift_ppm == pytest.approx(ppm, abs=0.3)


@pytest.mark.parametrize("added", [64, 1024])
def test_an_output_that_runs_dry_adds_samples(added):
    heard = through_a_cable()
    at = SIGNAL.marks[7] + round(0.3 * RATE) + 700
    figures = measure_cable(SIGNAL, np.concatenate([heard[:at], np.zeros(added, np.float32), heard[at:]]))
    assert (figures.lost_samples, figures.added_samples) == (0, added)


def test_a_torn_mark_is_left_out_and_what_tore_it_is_counted():
    heard = through_a_cable()
    at = SIGNAL.marks[7] + round(0.05 * RATE) + 700
    figures = measure_cable(SIGNAL, np.concatenate([heard[:at], heard[at + 200 :]]))
    assert figures.lost_samples == 200


TONE = SIGNAL.tone[0] + 700


@pytest.mark.parametrize(
    ("at", "length", "holes"),
    [
        (SIGNAL.marks[7] + 700, 0.1, 1),
        (SIGNAL.marks[0] + 700, 0.1, 1),
        (SIGNAL.marks[-1] + 700, 0.1, 1),
        (TONE + round(0.9 * RATE), 0.03, 1),
        (TONE + round(0.4 * RATE), 0.5, 1),
    ],
    ids=["over a mark", "over the first", "over the last", "in the tone", "a long one in the tone"],
)
@pytest.mark.parametrize(("noise_db", "gain_db"), [(-90.0, -6.0), (-60.0, -20.0), (-70.0, -35.0)])
def test_silence_in_place_of_sound_is_a_hole_though_nothing_moves(at, length, holes, noise_db, gain_db):
    heard = intact(noise_db, gain_db).copy()
    heard[at : at + round(length * RATE)] = 0.0
    figures = measure_cable(SIGNAL, heard)
    assert (figures.holes, figures.lost_samples, figures.added_samples) == (holes, 0, 0)
    assert figures.gain_db == pytest.approx(gain_db, abs=0.1)


@pytest.mark.parametrize("lost", [3, 64, 1000])
@pytest.mark.parametrize("put_in", [False, True], ids=["lost", "put in"])
def test_what_happens_within_the_tone_is_counted_and_its_level_stays(lost, put_in):
    heard = through_a_cable()
    at = TONE + round(0.7 * RATE)
    heard = np.concatenate([heard[:at], np.zeros(lost if put_in else 0, np.float32), heard[at + lost * (not put_in) :]])
    figures = measure_cable(SIGNAL, heard)
    assert (figures.lost_samples, figures.added_samples) == ((0, lost) if put_in else (lost, 0))
    assert figures.holes == (lost != 64)  # four periods of the tone, nearly: it goes on as if nothing had been
    assert figures.gain_db == pytest.approx(-6.0, abs=0.05)
    assert figures.distortion_percent < 0.1


@pytest.mark.parametrize("percent", [0.1, 1.0, 5.0])
def test_distortion_is_that_of_the_textbook(percent):
    """x + k x^3 makes a third harmonic of k a^3 / 4 beside a + 3 k a^3 / 4 (the sine's triple angle)."""
    a = 10 ** (-12 / 20)
    share = percent / 100
    k = share / (a**2 * (0.25 - 0.75 * share))
    figures = measure_cable(SIGNAL, through_a_cable(cubic=k, noise_db=-110))
    assert figures.distortion_percent == pytest.approx(percent, rel=0.02)


def test_a_clean_cable_has_none():
    assert measure_cable(SIGNAL, through_a_cable(noise_db=-100)).distortion_percent < 0.01


@pytest.mark.parametrize(("noise_db", "hum_db"), [(-70, -50), (-90, -80), (-60, None)])
def test_noise_and_hum_of_the_silence_before(noise_db, hum_db):
    noise = measure_cable(SIGNAL, through_a_cable(noise_db=noise_db, hum_db=hum_db)).noise
    assert noise.hiss_db == pytest.approx(noise_db, abs=0.5)
    assert noise.mains_hz == (0.0 if hum_db is None else 50.0)
    if hum_db is not None:
        assert noise.hum_db == pytest.approx(hum_db, abs=0.3)


def test_an_inverting_input_is_said():
    assert measure_cable(SIGNAL, -through_a_cable()).inverted


def test_a_tone_that_clips_is_said():
    assert measure_cable(SIGNAL, np.clip(through_a_cable(gain_db=14), -1, 1)).clipped


@pytest.mark.parametrize(
    "heard",
    [
        np.zeros(10, np.float32),
        np.zeros(20 * RATE, np.float32),
        (0.01 * np.random.default_rng(1).standard_normal(20 * RATE)).astype(np.float32),
        np.sin(np.arange(20 * RATE) * 0.3).astype(np.float32),
        SIGNAL.samples[: 3 * RATE],
    ],
    ids=["nothing", "silence", "noise", "a whistle", "only its beginning"],
)
def test_what_is_no_cable_is_refused(heard):
    with pytest.raises(NotHeardError):
        measure_cable(SIGNAL, heard)


@pytest.mark.parametrize("rate", [8000, 44100, 48000, 96000])
def test_the_signal_is_as_loud_as_promised_at_every_rate(rate):
    signal = cable_signal(rate)
    assert np.max(np.abs(signal.samples)) <= 10 ** (-12 / 20) + 1e-6
    assert 14 < signal.seconds < 16


# ---- in words


def run(heard: np.ndarray, **more) -> CableRun:
    facts = {"told_lost_samples": 0, "delay_s": 0.031, "seconds": 15.1, "rate_hz": RATE, "block_samples": 128}
    return CableRun(measure_cable(SIGNAL, heard), **{**facts, **more})


def test_a_good_device_in_words():
    remarks = {one.part: one for one in cable_remarks(run(through_a_cable(ppm=12)))}
    assert all(one.good and not one.remedy for one in remarks.values())
    assert remarks["cable delay"].fact.startswith("31.0 ms out in blocks of 1024 and back in 128")
    assert remarks["cable losses"].fact == "no sample lost in 15 s"
    assert remarks["block size"].fact == "128 samples hold for 15 s"
    assert remarks["two clocks"].fact == "12.0 millionths apart (0.02 cents), the input's the faster"
    assert remarks["cable level"].fact == "-6.0 dB against what was sent"
    assert remarks["cable noise"].fact == "Quiet: noise at -90 dBFS"
    assert remarks["cable hum"].fact == "none stands out of the hiss"


@pytest.mark.parametrize(
    ("heard", "more", "part"),
    [
        (through_a_cable(), {"delay_s": 0.2}, "cable delay"),
        (through_a_cable(), {"told_lost_samples": 128}, "cable losses"),
        (through_a_cable(), {"told_lost_samples": 128}, "block size"),
        (through_a_cable(ppm=900), {}, "two clocks"),
        (through_a_cable(gain_db=-45, noise_db=-110), {}, "cable level"),
        (through_a_cable(cubic=3.0), {}, "distortion"),
        (through_a_cable(noise_db=-50), {}, "cable noise"),
        (through_a_cable(noise_db=-70, hum_db=-40), {}, "cable hum"),
    ],
)
def test_what_is_not_good_is_marked(heard, more, part):
    assert not {one.part: one.good for one in cable_remarks(run(heard, **more))}[part]


@pytest.mark.parametrize(("tears", "words"), [(1, "torn in 1 place:"), (2, "torn in 2 places:")])
def test_holes_are_said_and_a_block_with_them_does_not_hold(tears, words):
    heard = through_a_cable()
    for number in range(tears):
        heard[SIGNAL.marks[3 + 5 * number] + 700 :][: RATE // 10] = 0.0
    remarks = {one.part: one for one in cable_remarks(run(heard))}
    assert remarks["cable losses"].good
    assert remarks["cable holes"].fact.startswith(words)
    assert not remarks["cable holes"].good
    assert not remarks["block size"].good


def test_a_sound_back_before_it_was_asked_for_is_a_torn_run_and_no_delay():
    """Seen through a sound server on a machine that two other programs held: −102 ms, with every other figure good."""
    (delay,) = (one for one in cable_remarks(run(through_a_cable(), delay_s=-0.1024)) if one.part == "cable delay")
    assert not delay.good
    assert delay.fact == "the stream stopped and went on while it was measured: no delay could be told"
    assert "measure anew" in delay.remedy
