"""Where the pedal's own clicks come back, told by the sound: through a quiet leak, and never where none is."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pedal.leak.click_finder import ClickFinder
from pedal.synth.backing import Backing
from pedal.theory.cents import hz_of
from pedal.theory.pulse import COUNT_IN_BEATS, Pulse

RATE = 48_000
ONE, FOUR = tuple(map(hz_of, (55, 59, 62, 65))), tuple(map(hz_of, (48, 52, 55, 58)))
PULSE = Pulse(80, (ONE, FOUR), 2 / 3, hz_of(103))
BEAT = round(PULSE.beat_s * RATE)


def played(beats: int, *, db: float, later_s: float, pulse: Pulse = PULSE) -> NDArray[np.float64]:
    """The pulse from its first beat on, so loud at its peak, and so much later; hiss of a quiet interface."""
    voice = Backing(RATE, peak_db=-12.0)
    voice.follow(pulse, -12.0)
    made = voice.render(round((beats + 1) * pulse.beat_s * RATE)).astype(np.float64) * 10 ** ((db + 12) / 20)
    assert voice.beat_zero is not None
    made = np.concatenate([np.zeros(RATE), made[voice.beat_zero :]])
    later = round(later_s * RATE)
    return np.roll(made, later) + np.random.default_rng(440).normal(0, 10 ** (-80 / 20), len(made))


def found(sound: NDArray[np.float64], pulse: Pulse = PULSE) -> float | None:
    """By how much later, of a sound whose first beat is told for its second second."""
    finder = ClickFinder(pulse, RATE)
    for at in range(0, len(sound) - 1536, 1536):
        finder.hear(at - RATE, sound[at : at + 1536])
    return finder.later_s


@pytest.mark.parametrize("later_s", [-0.03, 0.0, 0.0125, 0.09, 0.3])
@pytest.mark.parametrize("db", [-20, -46, -60])
def test_a_count_in_is_enough(later_s: float, db: float) -> None:
    later = found(played(COUNT_IN_BEATS, db=db, later_s=later_s))
    assert later == pytest.approx(later_s, abs=0.001)


@pytest.mark.parametrize("bpm", [40, 160])
def test_at_any_tempo(bpm: int) -> None:
    pulse = Pulse(bpm, (ONE,), 0.5, hz_of(96))
    later = found(played(8, db=-40, later_s=0.06, pulse=pulse), pulse)
    assert later == pytest.approx(0.06, abs=0.001)


def strings(length: int, *, seed: int) -> NDArray[np.float64]:
    """Plucks of a hand that means each beat and scatters by 15 ms: partials to 8 kHz, and the pick's own noise."""
    rng = np.random.default_rng(seed)
    made, at = np.zeros(length), np.arange(1, round(0.7 * RATE)) / RATE
    for beat in range(int(length / BEAT) - 2):
        first = round((1.0 + beat * PULSE.beat_s + 0.02 + 0.015 * rng.standard_normal()) * RATE) + 1
        hz = hz_of(55 + int(rng.integers(0, 15)))
        tone = sum(np.sin(2 * np.pi * n * hz * at) * np.exp(-n * at / 1.5) / n for n in range(1, int(8000 / hz)))
        pick = rng.standard_normal(len(at)) * np.exp(-at / 0.004) * 0.3
        made[first : first + len(at)] += 0.1 * (tone + pick)[: length - first]
    return made


@pytest.mark.parametrize("seed", range(4))
def test_strings_on_the_beat_are_no_clicks(seed: int) -> None:
    silence = np.random.default_rng(1).normal(0, 10 ** (-80 / 20), RATE + 14 * BEAT)
    assert found(silence + strings(len(silence), seed=seed)) is None


def test_under_strings_clicks_are_found_or_nothing_is_told() -> None:
    """20 dB under the notes."""
    later = [found((sound := played(13, db=-34, later_s=0.04)) + strings(len(sound), seed=seed)) for seed in range(4)]
    told = [each for each in later if each is not None]
    print(f"found in {len(told)} of 4")
    assert all(each == pytest.approx(0.04, abs=0.002) for each in told)


def test_where_nothing_comes_back_nothing_is_told() -> None:
    assert found(np.random.default_rng(1).normal(0, 0.01, RATE + 12 * BEAT)) is None
    assert found(np.zeros(RATE + 12 * BEAT)) is None
