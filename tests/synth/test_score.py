"""Strokes: the curve the hand draws, the truth beside the sound, and the time line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measuring import error_cents, first_partial_hz

from pedal.synth.gestures import Hand, bend_word, curl_word
from pedal.synth.score import Expected, Guitar, Leg, Shake, Stroke, cents_of, hz_curve, play, sound_of
from pedal.theory.scale import parse_key

RATE = 48_000
HAND = Hand(parse_key("G minor pentatonic"))
QUIET = Guitar(hiss_db=-140, hum_db=-140)


def stroke(*legs: Leg, start_cents: float = 0.0, shake: Shake | None = None, hard_cents: float = 0.0) -> Stroke:
    return Stroke(0.0, 3, 5, 60, legs, Expected("bend"), start_cents=start_cents, shake=shake, hard_cents=hard_cents)


def at(cents: np.ndarray, time_s: float) -> float:
    return float(cents[round(time_s * RATE)])


@given(st.floats(0, 350), st.floats(0, 350), st.floats(0.02, 1))
def test_a_push_goes_one_way_from_height_to_height(start: float, end: float, seconds: float) -> None:
    cents = cents_of(stroke(Leg(seconds, end), start_cents=start), RATE)
    steps = np.diff(cents) * np.sign(end - start)
    assert len(cents) == round(seconds * RATE)
    assert steps.min(initial=0) >= -1e-9
    assert cents[-1] == pytest.approx(end, abs=1e-6)


def test_a_push_leaves_slowly_and_arrives_quickly() -> None:
    """The pitch goes with the square of the travel: at half the time, a quarter of the height."""
    cents = cents_of(stroke(Leg(0.4, 200)), RATE)
    assert at(cents, 0.2) == pytest.approx(50, abs=0.1)


def test_stairs_stand_on_frets_only() -> None:
    cents = cents_of(stroke(Leg(0.3, 0), Leg(0.6, 300, "stairs")), RATE)
    assert set(np.unique(cents)) == {0.0, 100.0, 200.0, 300.0}


def test_a_hammer_on_jumps_within_four_milliseconds() -> None:
    cents = cents_of(stroke(Leg(0.3, 0), Leg(0.3, 200, "jump")), RATE)
    assert np.count_nonzero((cents > 1) & (cents < 199)) <= 0.004 * RATE


@settings(max_examples=30)
@given(st.floats(3, 8), st.floats(5, 40))
def test_vibrato_swings_about_the_height_by_its_width(rate_hz: float, width_cents: float) -> None:
    cents = cents_of(stroke(Leg(2.5, 0), shake=Shake(0.3, rate_hz, width_cents)), RATE)
    cycle = round(RATE / rate_hz)
    whole = cents[-2 * cycle :]
    assert cents[: round(0.3 * RATE)].max() == 0
    assert whole.mean() == pytest.approx(0, abs=0.05)
    assert (whole.max() - whole.min()) / 2 == pytest.approx(width_cents, rel=0.01)
    upward = cents_of(stroke(Leg(2.5, 0), shake=Shake(0.3, rate_hz, width_cents, upward=True)), RATE)
    assert upward.min() >= 0
    assert upward.max() == pytest.approx(2 * width_cents, rel=0.01)


def test_a_hard_pluck_starts_sharp_and_settles() -> None:
    cents = cents_of(stroke(Leg(1.0, 0), hard_cents=6.0), RATE)
    assert cents[0] == pytest.approx(6.0)
    assert at(cents, 0.9) < 0.01


@pytest.mark.parametrize("a4_hz", [432.0, 440.0])
def test_the_truth_counts_the_guitars_own_tuning(a4_hz: float) -> None:
    guitar = Guitar(a4_hz=a4_hz, offsets_cents=(0, 0, 7.0, 0, 0, 0))
    hz = hz_curve(stroke(Leg(0.1, 0)), guitar, RATE)
    assert 1200 * np.log2(hz[0] / (a4_hz * 2 ** ((60 - 69) / 12))) == pytest.approx(7.0)


@pytest.mark.parametrize(
    "gesture",
    [
        HAND.curl(0, 3, 3, 40.0),
        HAND.bend(0, 3, 5, -12.0),
        HAND.bend_and_release(0, 2, 6),
        HAND.prebend_and_release(0, 2, 6),
    ],
    ids=["curl", "bend", "bend and release", "prebend and release"],
)
def test_what_is_heard_is_the_truth(gesture: Stroke) -> None:
    """SciPy's analytic signal against the curve; the last tenth of a second is the hand's damping."""
    truth = hz_curve(gesture, QUIET, RATE)
    samples = sound_of(gesture, QUIET, sample_rate=RATE, rng=np.random.default_rng(3))
    heard = first_partial_hz(samples, RATE, float(np.sqrt(truth.min() * truth.max())))
    error = np.abs(error_cents(heard, truth))[round(0.08 * RATE) : -round(0.12 * RATE)]
    assert np.percentile(error, 95) < 1.5


@given(st.floats(-60, 60))
def test_the_verdict_of_a_bend_is_its_band(error_cents_off: float) -> None:
    expected = HAND.bend(0, 3, 5, error_cents_off).expected
    assert expected.bend_cents == pytest.approx(200 + error_cents_off)
    assert (expected.verdict == "true") == (abs(error_cents_off) <= 10)
    assert (expected.verdict == "near") == (10 < abs(error_cents_off) <= 25)
    assert (expected.verdict == "flat") == (error_cents_off < -25)


@pytest.mark.parametrize(
    ("cents", "word"), [(5, "flat"), (10, "near"), (15, "true"), (60, "true"), (68, "near"), (90, "sharp")]
)
def test_the_verdict_of_a_curl_is_its_zone(cents: float, word: str) -> None:
    assert curl_word(cents) == HAND.curl(0, 3, 3, cents).expected.verdict == word


def test_against_a_drone_the_bands_are_narrower() -> None:
    assert bend_word(-8, true_cents=5, near_cents=12.5) == "near"
    assert bend_word(-8) == "true"


def test_a_choked_note_ends_and_a_fading_one_sinks() -> None:
    choked, fading = HAND.steady(0, 3, 5), HAND.steady(0, 3, 5, ring=True)
    for gesture, before_end_s, most in ((choked, 0.005, 0.1), (fading, 0.03, 0.02)):
        samples = sound_of(gesture, QUIET, sample_rate=RATE, rng=np.random.default_rng(3))
        assert samples[-1] == 0
        late = np.abs(samples[-round(before_end_s * RATE) :]).max() / np.abs(samples).max()
        assert late < most
    assert np.abs(sound_of(choked, QUIET, sample_rate=RATE, rng=np.random.default_rng(3))[-2000:]).max() > 0.05


def test_the_time_line_is_whole() -> None:
    strokes = (HAND.steady(0.2, 3, 5), HAND.steady(1.0, 3, 3))
    parts = list(play(strokes, QUIET, sample_rate=RATE, length_s=2.0, rng=np.random.default_rng(3)))
    sound = np.concatenate(parts)
    assert len(sound) == 2 * RATE
    loud = np.abs(sound) > 0.01
    assert round(np.argmax(loud) / RATE, 2) == 0.20
    assert not loud[round(0.76 * RATE) : RATE].any()


def test_the_room_hums_at_its_level() -> None:
    guitar = Guitar(hiss_db=-70, hum_db=-60)
    (room,) = play((), guitar, sample_rate=RATE, length_s=1.0, rng=np.random.default_rng(3))
    assert 20 * np.log10(np.sqrt(np.mean(room**2))) == pytest.approx(10 * np.log10(1e-7 + 1e-6), abs=0.1)
    assert np.argmax(np.abs(np.fft.rfft(room))) == 50


@pytest.mark.parametrize(
    ("strokes", "length_s", "sentence"),
    [
        ((HAND.steady(0.2, 3, 5), HAND.steady(0.5, 3, 3)), 2.0, "the stroke at 0.5 s begins before the one before it"),
        ((HAND.steady(0.2, 3, 5),), 0.5, "length_s must be at least 0.75 s, got 0.5 s"),
    ],
)
def test_a_time_line_that_cannot_be(strokes: tuple[Stroke, ...], length_s: float, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        list(play(strokes, QUIET, sample_rate=RATE, length_s=length_s, rng=np.random.default_rng(3)))


def test_two_strings_are_two_pitches() -> None:
    both = HAND.two_strings(0, 2, 3, 1, 3)
    alone = replace(both, second_midi=None)
    spectra = [
        np.abs(np.fft.rfft(sound_of(gesture, QUIET, sample_rate=RATE, rng=np.random.default_rng(3))))
        for gesture in (both, alone)
    ]
    bin_of_g4 = round(392.0 * 0.9)
    assert spectra[0][bin_of_g4 - 2 : bin_of_g4 + 3].max() > 10 * spectra[1][bin_of_g4 - 2 : bin_of_g4 + 3].max()
