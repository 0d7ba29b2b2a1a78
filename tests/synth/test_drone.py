"""The drone: in tune, under its level, and without a click whatever is ordered, and when."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from pedal.synth.drone import (
    CHANGE_S,
    DEFAULT_PEAK_DB,
    HUSH_S,
    LOUDEST_DB,
    MOST_LAYERS,
    MOST_NOTES,
    SILENT_DB,
    START_S,
    Drone,
    Layer,
)
from pedal.theory.cents import hz_of

RATE = 16_000
chords = st.lists(st.integers(40, 76), max_size=MOST_NOTES, unique=True).map(
    lambda midis: tuple(hz_of(m) for m in midis)
)
levels = st.one_of(st.just(LOUDEST_DB), st.floats(SILENT_DB, LOUDEST_DB))
orders = st.lists(st.tuples(chords, st.integers(0, 6000), levels), min_size=1, max_size=12)
FIFTH, MINOR = (hz_of(43), hz_of(50)), (hz_of(43), hz_of(50), hz_of(55), hz_of(58))


def rendered(drone: Drone, seconds: float, block: int = 256) -> np.ndarray:
    return np.concatenate([drone.render(block) for _ in range(round(seconds * RATE / block))])


def steepest_step(hz: tuple[float, ...]) -> float:
    """How far a chord that just goes on climbs between two samples, for a peak of one; a third is allowed on top,
    because chords do not repeat and one second is not for ever.
    """
    drone = Drone(RATE, peak_db=0.0)
    drone.sound(hz)
    return 1.33 * float(np.max(np.abs(np.diff(rendered(drone, START_S + 1.0)))))


def clicks(sound: np.ndarray) -> float:
    """Peak of what lies above 6 kHz, where no partial of the drone lies: a step of any kind shows there."""
    return float(np.max(np.abs(sosfilt(butter(10, 6000, "highpass", fs=RATE, output="sos"), sound))))


@settings(max_examples=40, deadline=None)
@given(orders, st.integers(32, 700), st.floats(SILENT_DB, LOUDEST_DB))
def test_never_a_click_and_never_above_the_level(played, block: int, peak_db: float) -> None:
    drone, peak = Drone(RATE, peak_db=peak_db), 10 ** (peak_db / 20)
    parts = [np.zeros(1, np.float32)]
    for hz, samples, level_db in played:
        drone.sound(hz, level_db)
        parts += [drone.render(min(block, samples - start)) for start in range(0, samples, block)]
    drone.hush()
    parts += [drone.render(block) for _ in range(round(2 * RATE / block) + 1)]
    sound = np.concatenate(parts)
    assert np.max(np.abs(sound)) <= peak
    most = max([steepest_step(hz) for hz, *_ in played if hz], default=0.0)
    fades = (MOST_LAYERS + 1) * np.pi / 2 / (CHANGE_S * RATE)
    assert np.max(np.abs(np.diff(sound))) <= peak * (most + fades)
    assert clicks(sound) < 2e-3 * peak
    assert drone.silent
    assert sound[-1] == 0.0


@pytest.mark.parametrize("share", [0.0, 0.8])
def test_a_cut_or_a_jump_in_level_would_be_seen(share: float) -> None:
    drone = Drone(RATE)
    drone.sound(MINOR)
    sound = rendered(drone, 1.5)
    here = int(np.argmax(np.abs(sound)))
    sound[here:] *= share
    assert clicks(sound) > 1e-2 * 10 ** (DEFAULT_PEAK_DB / 20)


@settings(max_examples=40)
@given(st.lists(st.integers(1, 900), min_size=1, max_size=20))
def test_blocks_of_any_size_give_the_same_sound(sizes: list[int]) -> None:
    one, other = Drone(RATE), Drone(RATE)
    one.sound(FIFTH)
    other.sound(FIFTH)
    whole = one.render(sum(sizes))
    parts = np.concatenate([other.render(size) for size in sizes])
    assert np.max(np.abs(whole - parts)) < 1e-6


@pytest.mark.parametrize("a4_hz", [415.0, 440.0, 443.0])
def test_it_is_in_tune_with_a4(a4_hz: float) -> None:
    drone, wanted = Drone(RATE), hz_of(55, a4_hz=a4_hz)
    drone.sound((wanted,))
    rendered(drone, START_S)
    sound = rendered(drone, 8.0)
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 4 * len(sound)))
    heard = float(np.argmax(spectrum)) * RATE / (4 * len(sound))
    assert 1200 * abs(np.log2(heard / wanted)) < 0.5


def test_a_string_a_quarter_of_a_semitone_off_beats_with_it() -> None:
    """25 cents from G3 (195.998 Hz) beat 2.85 times a second: the difference of the frequencies."""
    drone, string_hz = Drone(RATE), hz_of(55.25)
    drone.sound((hz_of(55),))
    rendered(drone, START_S)
    sound = rendered(drone, 8.0)
    both = sound + 0.3 * np.abs(sound).max() * np.sin(2 * np.pi * string_hz * np.arange(len(sound)) / RATE)
    loudness = np.convolve(both**2, np.ones(400) / 400, "valid")[::100]
    loudness -= loudness.mean()
    spectrum = np.abs(np.fft.rfft(loudness * np.hanning(len(loudness)), 16 * len(loudness)))
    rate_hz = np.arange(len(spectrum)) * RATE / 100 / (16 * len(loudness))
    slow = (rate_hz > 1) & (rate_hz < 20)
    assert rate_hz[slow][np.argmax(spectrum[slow])] == pytest.approx(string_hz - hz_of(55), abs=0.1)


def test_an_order_during_a_hush_does_not_add_up() -> None:
    """The old note has hardly begun to fade when the new one, the same wave twice, fades in more quickly."""
    drone = Drone(RATE)
    drone.sound((110.0,))
    rendered(drone, START_S + 0.2)
    drone.hush()
    rendered(drone, 0.02)
    drone.sound((110.0, 110.0))
    assert np.max(np.abs(rendered(drone, HUSH_S))) <= 10 ** (DEFAULT_PEAK_DB / 20)


def test_the_start_is_soft_and_the_level_quiet() -> None:
    drone = Drone(RATE)
    drone.sound(MINOR)
    sound = rendered(drone, START_S + 1.0)
    first, full = sound[: round(0.05 * RATE)], sound[round(START_S * RATE) :]
    assert np.sqrt(np.mean(first**2)) < 0.1 * np.sqrt(np.mean(full**2))
    assert 10 ** (-34 / 20) < np.max(np.abs(sound)) <= 10 ** (-18 / 20)


def test_a_change_of_chord_keeps_the_loudness() -> None:
    """Notes that both chords have run on in phase: no dip while the one fades into the other."""
    drone = Drone(RATE)
    drone.sound(FIFTH)
    rendered(drone, START_S + 0.5)
    before = np.sqrt(np.mean(rendered(drone, 0.5) ** 2))
    drone.sound(MINOR)
    during = rendered(drone, CHANGE_S)
    after = np.sqrt(np.mean(rendered(drone, 0.5) ** 2))
    quietest = min(np.sqrt(np.mean(part**2)) for part in np.array_split(during, 4))
    assert quietest > 0.6 * min(before, after)


def test_a_hush_that_is_taken_back_goes_on_from_where_it_was() -> None:
    drone = Drone(RATE)
    drone.sound(FIFTH)
    rendered(drone, START_S + 0.2)
    drone.hush()
    rendered(drone, HUSH_S / 2)
    drone.sound(FIFTH)
    assert np.max(np.abs(rendered(drone, 0.05))) > 0
    assert not drone.silent


@pytest.mark.parametrize("level_db", [-12.0, -30.0, -48.0])
def test_it_is_as_loud_as_was_asked_and_goes_there_without_a_break(level_db: float) -> None:
    drone, loud = Drone(RATE, peak_db=-12.0), Drone(RATE, peak_db=-12.0)
    drone.sound(MINOR, level_db)
    loud.sound(MINOR)
    assert np.allclose(rendered(drone, 1.0), 10 ** ((level_db + 12) / 20) * rendered(loud, 1.0), atol=1e-7)
    drone.sound(MINOR, -12.0)
    rendered(drone, CHANGE_S + 0.1)
    rendered(loud, CHANGE_S + 0.1)
    assert np.allclose(rendered(drone, 0.5), rendered(loud, 0.5), atol=1e-7)


def test_an_order_that_is_said_again_and_again_makes_its_chord_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The drone player says it ten times a second, for as long as it stands; another loudness is the same chord."""
    made: list[Layer] = []

    class Counted(Layer):
        def __init__(self, *of: object) -> None:
            super().__init__(*of)
            made.append(self)

    monkeypatch.setattr("pedal.synth.drone.Layer", Counted)
    drone, once = Drone(RATE), Drone(RATE)
    once.sound(MINOR, -30.0)
    made.clear()
    again = []
    for _ in range(10):
        drone.sound(MINOR, -30.0)
        again.append(drone.render(RATE // 10))
    assert len(made) == 1
    assert np.array_equal(np.concatenate(again), once.render(RATE))
    quiet = np.abs(again[-1]).max()
    drone.sound(MINOR, -24.0)
    louder = drone.render(RATE)[round(CHANGE_S * RATE) :]
    assert np.abs(louder).max() == pytest.approx(2 * quiet, rel=0.1)
    assert len(made) == 1
    drone.sound(FIFTH, -24.0)
    drone.hush()
    drone.sound(FIFTH, -24.0)
    assert [layer.hz for layer in made] == [MINOR, FIFTH, FIFTH]


def test_what_is_asked_louder_than_the_ceiling_is_as_loud_as_that() -> None:
    drone = Drone(RATE, peak_db=-12.0)
    drone.sound(MINOR, 0.0)
    assert np.abs(rendered(drone, 2.0)).max() <= 10 ** (-12 / 20)


@pytest.mark.parametrize("level_db", [-60.1, 0.1, float("nan")])
def test_a_loudness_that_is_none_is_refused(level_db: float) -> None:
    with pytest.raises(ValueError, match="the drone's level must be -60 to 0 dBFS"):
        Drone(RATE).sound(FIFTH, level_db)


def test_silence_costs_nothing_and_is_silent() -> None:
    drone = Drone(RATE)
    assert drone.silent
    assert not drone.render(1000).any()


@pytest.mark.parametrize("peak_db", [-61.0, 0.1, 6.0, float("nan")])
def test_a_level_above_the_ceiling_is_refused(peak_db: float) -> None:
    with pytest.raises(ValueError, match="the drone's level must be -60 to 0 dBFS"):
        Drone(RATE, peak_db=peak_db)


@pytest.mark.parametrize(
    ("hz", "sentence"),
    [
        ((10.0,), "must be 20 to 1600 Hz, got 10.0"),
        ((2000.0,), "20 to 1600 Hz"),
        ((float("nan"),), "got nan"),
        ((110.0,) * 7, "at most 6 notes, got 7"),
    ],
)
def test_notes_that_cannot_sound_are_refused(hz: tuple[float, ...], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        Drone(RATE).sound(hz)
