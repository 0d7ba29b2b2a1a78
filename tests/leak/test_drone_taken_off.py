"""The drone that comes back into the input: learned while nothing else sounds, then taken off, and never more."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from pedal.chain import Chain
from pedal.leak.drone_leak import DroneLeak
from pedal.synth.drills import SCENES
from pedal.synth.drone import Drone
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.grids import grid

RATE = 48_000
ROOT, FIFTH, MINOR = (196.0,), (196.0, 293.6648), (196.0, 233.0819, 293.6648)
CHORDS = {"root": ROOT, "fifth": FIFTH, "minor": MINOR}
LEARNED_S = 2.5


def drone(hz: tuple[float, ...], seconds: float, *, db: float, rate: int = RATE) -> NDArray[np.float32]:
    """The pedal's own drone as it comes back: `db` dBFS peak, after its soft start."""
    voice = Drone(rate, peak_db=-18.0)
    voice.sound(hz)
    return (voice.render(round(seconds * rate)) * 10 ** ((db + 18) / 20)).astype(np.float32)


def cleaned(leak: DroneLeak, samples: NDArray[np.float32], block: int = 384) -> NDArray[np.float32]:
    return np.concatenate([leak.clean(samples[at : at + block]) for at in range(0, len(samples), block)])


def rms_db(samples: NDArray[np.float32]) -> float:
    return float(10 * np.log10(np.mean(samples.astype(np.float64) ** 2) + 1e-20))


def test_without_a_drone_the_samples_pass_untouched() -> None:
    samples = np.ones(128, np.float32)
    assert DroneLeak(RATE).clean(samples) is samples


@pytest.mark.parametrize("rate", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("chord", CHORDS)
def test_a_leak_goes_down_by_thirty_decibels(chord: str, rate: int, rng: np.random.Generator) -> None:
    back = drone(CHORDS[chord], 6.0, db=-48, rate=rate)
    hiss = rng.normal(0, 10 ** (-78 / 20), len(back)).astype(np.float32)
    leak = DroneLeak(rate)
    leak.expect(CHORDS[chord])
    made = cleaned(leak, back + hiss)
    late = slice(round(LEARNED_S * rate), None)
    assert rms_db((made - hiss)[late]) < rms_db(back[late]) - 30
    assert rms_db(made[: late.start]) < -75, "it was heard before it was known"


@given(gain=st.floats(0.001, 0.1), delay=st.integers(0, 4000), seed=st.integers(0, 99))
@settings(max_examples=15, deadline=None)
def test_whatever_the_way_back_does_to_level_and_delay(gain: float, delay: int, seed: int) -> None:
    there = drone(ROOT, 4.0, db=-18)
    back = np.concatenate([np.zeros(delay, np.float32), gain * there])[: len(there)]
    back += 0.5 * gain * np.concatenate([np.zeros(delay + 313, np.float32), there])[: len(there)]
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    late = slice(round(LEARNED_S * RATE), None)
    assert rms_db(cleaned(leak, back)[late]) < rms_db(back[late]) - 30


def test_a_string_in_unison_with_the_drone_is_left_alone() -> None:
    """It decays, so that it never looks like a leak: none of it is taken off."""
    at = np.arange(7 * RATE) / RATE
    string = (0.1 * np.exp(-at / 4.0) * np.sin(2 * np.pi * 196.0 * at)).astype(np.float32)
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    made = cleaned(leak, string)
    assert not len(leak.leak)
    late = slice(6 * RATE, None)
    assert np.array_equal(made[late], string[late])


def test_what_was_learned_is_taken_off_under_a_note() -> None:
    at = np.arange(6 * RATE) / RATE
    string = (0.3 * np.sin(2 * np.pi * 247.1 * at) * np.exp(-at) * (at > 3.0)).astype(np.float32)
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    made = cleaned(leak, drone(ROOT, 6.0, db=-40) + string)
    assert rms_db((made - string)[round(LEARNED_S * RATE) :]) < -75


@pytest.mark.parametrize("block", [pytest.param(1, marks=pytest.mark.wide), 7, 127, 1024, 4096])
def test_blocks_of_any_length_give_the_same_samples(block: int) -> None:
    heard = drone(ROOT, 3.0, db=-40)
    one, other = DroneLeak(RATE), DroneLeak(RATE)
    one.expect(ROOT)
    other.expect(ROOT)
    late = slice(round(LEARNED_S * RATE), None)
    assert np.allclose(cleaned(one, heard, 384)[late], cleaned(other, heard, block)[late], atol=1e-6)


def test_lost_samples_do_not_bring_it_back() -> None:
    heard, lost = drone(ROOT, 6.0, db=-40), 12_345
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    cleaned(leak, heard[: 3 * RATE])
    leak.skip(lost)
    assert rms_db(cleaned(leak, heard[3 * RATE + lost :])) < -75


def test_nothing_is_taken_off_a_dead_input_and_what_was_learned_holds(rng: np.random.Generator) -> None:
    """Muted, or starved by its driver: else the ear hears the drone that is not there, turned about."""
    back = drone(MINOR, 8.0, db=-48) + rng.normal(0, 10 ** (-78 / 20), 8 * RATE).astype(np.float32)
    dead, after = slice(400 * 384, 600 * 384), slice(600 * 384, None)
    back[dead] = 0.0
    leak = DroneLeak(RATE)
    leak.expect(MINOR)
    made = cleaned(leak, back)
    assert not made[dead].any()
    assert rms_db(made[after]) < -70


def test_a_drone_that_comes_back_out_of_step_is_learned_again() -> None:
    heard = drone(ROOT, 8.0, db=-40)
    jumped = np.concatenate([heard[: 4 * RATE], heard[4 * RATE + 4321 :]])
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    made = cleaned(leak, jumped)
    assert rms_db(made[5 * RATE :]) < -75
    assert rms_db(made[4 * RATE + RATE // 4 : 5 * RATE]) < -70, "it was heard while it was learned again"


def test_another_chord_is_learned_anew_and_silence_ends_it() -> None:
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    cleaned(leak, drone(ROOT, 3.0, db=-40))
    assert len(leak.leak)
    leak.expect(FIFTH)
    assert not len(leak.leak)
    leak.expect(())
    quiet = np.full(128, 0.2, np.float32)
    cleaned(leak, np.zeros(3 * RATE, np.float32))
    assert leak.clean(quiet) is quiet


def test_a_pedal_whose_drone_was_never_on_hears_the_softest_note_at_once() -> None:
    leak = DroneLeak(RATE)
    leak.expect(())
    soft = np.full(128, 0.001, np.float32)
    assert leak.clean(soft) is soft


def test_a_loud_note_is_heard_even_before_the_leak_is_known() -> None:
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    loud = np.full(256, 0.2, np.float32)
    assert np.array_equal(leak.clean(loud), loud)


def test_what_was_let_through_for_a_loud_note_is_hushed_again_once_that_is_over() -> None:
    heard = drone(ROOT, 1.2, db=-48)
    heard[: RATE // 5] += 0.2
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    made = cleaned(leak, heard)
    assert not len(leak.leak)
    assert np.array_equal(made[: RATE // 5], heard[: RATE // 5])
    late = slice(RATE // 4, None)
    assert rms_db(made[late]) < rms_db(heard[late]) - 30


@pytest.mark.parametrize("samples", [np.full(30_000, np.nan, np.float32), np.full(30_000, 1e30, np.float32)])
def test_it_survives_samples_that_are_none(samples: NDArray[np.float32]) -> None:
    leak = DroneLeak(RATE)
    leak.expect(ROOT)
    with np.errstate(all="ignore"):
        cleaned(leak, samples)
    made = cleaned(leak, drone(ROOT, 4.0, db=-40))
    assert np.isfinite(made).all()
    assert rms_db(made[3 * RATE :]) < -75


@pytest.mark.parametrize(
    ("mode", "chord"), grid(["watch", "ladder"], ["minor", "root", "fifth"], each=3, hardest=[("ladder", "root")])
)
def test_the_pedal_still_judges_at_a_leak_of_minus_thirty_decibels(
    mode: str, chord: str, rng: np.random.Generator
) -> None:
    """Thirty decibels below the loudest note, on a performance whose every verdict is known."""
    scene = SCENES[mode]()
    sound = np.concatenate([np.zeros(3 * RATE, np.float32), scene.samples(sample_rate=RATE, rng=rng)])
    loudest_db = 20 * np.log10(np.abs(sound).max())
    heard = sound + drone(CHORDS[chord], len(sound) / RATE, db=loudest_db - 30)
    leak, chain = DroneLeak(RATE), Chain(RATE, Aim(scene.key))
    leak.expect(CHORDS[chord])
    things = [thing for at in range(0, len(heard), 384) for thing in chain.push(leak.clean(heard[at : at + 384]))]
    verdicts = [v for v in things + chain.finish() if isinstance(v, Verdict) and v.begun_by == "pluck"]
    assert len(verdicts) == len(scene.strokes)
    told = [(verdict.kind, verdict.verdict) for verdict in verdicts]
    expected = [
        (stroke.expected.kind, stroke.expected.verdict or verdict.verdict)
        for stroke, verdict in zip(scene.strokes, verdicts, strict=True)
    ]
    assert told == expected
