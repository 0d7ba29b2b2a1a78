"""Sounds that are no string: nothing they do brings the ear down, deafens it, or leaves it with a pitch of its own."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from string_takes import RATE, cents, note_hz, string

from pedal.pitch import make_tracker
from pedal.pitch.gate import MOST_FLOOR, Gate

Sound = NDArray[np.float64]
RNG = np.random.default_rng
MOST_HZ = 2000.0


def squeal(from_hz: float, to_hz: float, seconds: float, rate: int = RATE) -> Sound:
    """A glide of the first two partials."""
    f = np.geomspace(from_hz, to_hz, int(seconds * rate))
    phase = 2 * np.pi * np.cumsum(f) / rate
    return np.asarray(np.sin(phase) + 0.3 * np.sin(2 * phase))


def drum(hz: float, seconds: float, rate: int = RATE, seed: int = 0) -> Sound:
    t = np.arange(int(seconds * rate)) / rate
    skin = sum(np.sin(2 * np.pi * hz * mode * t) for mode in (1.0, 1.59, 2.14, 2.3))
    return np.asarray((skin + RNG(seed).normal(size=len(t))) * np.exp(-t / 0.08) / 4)


def clicks(count: int, seconds: float, rate: int = RATE, seed: int = 0) -> Sound:
    x = np.zeros(int(seconds * rate))
    x[RNG(seed).integers(0, len(x), count)] = 1.0
    return x


@cache
def chord(seconds: float, root: int = 40, rate: int = RATE, decay_s: float = 1.0) -> Sound:
    """Six strings with the sharp keys of none in common: E7#9 and the like."""
    shape = (0, 4, 10, 15, 18, 21)
    x = sum(string(note_hz(root + n), seconds, rate=rate, decay_s=decay_s, seed=n) for n in shape)
    return np.asarray(x / np.abs(x).max())


def strummed(seconds: float, peak: float, each_s: float = 0.4) -> Sound:
    return np.asarray(peak * np.concatenate([chord(each_s, 40 + k % 3) for k in range(round(seconds / each_s))]))


def hissed(x: Sound, db: float = -85.0) -> NDArray[np.float32]:
    return (x + RNG(9).normal(size=len(x)) * 10 ** (db / 20)).astype(np.float32)


def readings(x: NDArray[np.float32], rate: int = RATE, hop: int = 128) -> NDArray[np.float64]:
    """Rows of (heard_s, hz, now_hz, floor_db)."""
    tracker, rows = make_tracker(rate, hop), []
    for start in range(0, len(x) - hop + 1, hop):
        (r,) = tracker.push(x[start : start + hop])
        rows.append((r.heard_s, r.hz, tracker.now_hz, r.floor_db))
    return np.array(rows)


PIECES = st.one_of(
    st.tuples(st.just("squeal"), st.floats(60, 5000), st.floats(60, 5000)),
    st.tuples(st.just("drum"), st.floats(50, 3000), st.just(0.0)),
    st.tuples(st.just("clicks"), st.floats(1, 200), st.just(0.0)),
    st.tuples(st.just("noise"), st.floats(0.001, 1.0), st.just(0.0)),
    st.tuples(st.just("note"), st.floats(60, 2500), st.floats(0.01, 0.5)),
    st.tuples(st.just("chord"), st.floats(40, 80), st.just(0.0)),
    st.tuples(st.just("silence"), st.just(0.0), st.just(0.0)),
)


def made(piece: tuple[str, float, float], rate: int) -> Sound:
    kind, one, two = piece
    if kind == "squeal":
        return squeal(one, two, 0.2, rate)
    if kind == "drum":
        return drum(one, 0.2, rate)
    if kind == "clicks":
        return clicks(int(one), 0.1, rate)
    if kind == "noise":
        return np.asarray(np.clip(one * RNG(1).normal(size=int(0.1 * rate)), -1, 1))
    if kind == "note":
        return string(min(one, 0.2 * rate), 0.2, rate=rate, decay_s=two)
    if kind == "chord":
        return chord(0.2, int(one), rate) if rate >= 40_000 else np.zeros(1)
    return np.zeros(int(0.1 * rate))


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    pieces=st.lists(PIECES, min_size=1, max_size=5),
    rate=st.sampled_from([8000, 11_025, 44_100, 48_000, 96_000]),
    hop=st.sampled_from([16, 100, 128, 1024]),
    gain=st.sampled_from([0.003, 0.1, 1.0]),
)
def test_no_sound_brings_the_ear_down(pieces: list[tuple[str, float, float]], rate: int, hop: int, gain: float) -> None:
    x = np.concatenate([np.zeros(hop), *(gain * made(piece, rate) for piece in pieces)])
    got = readings(hissed(x), rate, hop)
    assert np.isfinite(got).all()
    assert got[:, 1:3].min() >= 0.0
    assert got[:, 1].max() < MOST_HZ
    assert -90.0 <= got[:, 3].min() <= got[:, 3].max() <= 10 * np.log10(MOST_FLOOR)


@pytest.mark.parametrize("rate", [8000, 44_100, 48_000])
@pytest.mark.parametrize("from_hz", [700.0, 1100.0, 1600.0])
def test_a_note_that_squeals_up_out_of_reach_is_let_go(from_hz: float, rate: int) -> None:
    """A pitch followed beyond two kilohertz wanted samples that had not been heard yet."""
    x = np.concatenate(
        [np.zeros(rate // 4), 0.3 * squeal(from_hz, from_hz, 0.2, rate), 0.3 * squeal(from_hz, 3900.0, 0.3, rate)]
    )
    got = readings(hissed(x), rate)
    assert (got[:, 1] > 0).sum() > 20 or from_hz > rate / 12
    assert got[:, 1].max() < MOST_HZ


@pytest.mark.parametrize("peak", [0.9, 0.25, 0.03])
def test_strumming_teaches_no_silence(peak: float) -> None:
    got = readings(hissed(np.concatenate([np.zeros(RATE // 2), strummed(4.0, peak)])))
    before_db = got[(got[:, 0] > 0.4) & (got[:, 0] < 0.5), 3].max()
    assert got[:, 3].max() < max(before_db, -75.2) + 1.0


@pytest.mark.parametrize("midi", [45, 57, 69])
def test_a_soft_note_right_after_strumming_is_heard(midi: int) -> None:
    """Four seconds of chords raised what counted as silence from -87 to -27 dBFS."""
    x = np.concatenate([np.zeros(RATE // 2), strummed(4.0, 0.8), 0.05 * string(note_hz(midi), 0.6)])
    got = readings(hissed(x))
    late = got[(got[:, 0] > 4.6) & (got[:, 0] < 5.05)]
    assert np.abs(cents(late[:, 1], note_hz(midi))).max() < 50


@pytest.mark.parametrize("level_db", [-60.0, -50.0, -42.0])
@pytest.mark.parametrize("what", ["hiss", "hum"])
def test_noise_that_begins_while_nobody_plays_is_learned_within_two_seconds(what: str, level_db: float) -> None:
    t = np.arange(3 * RATE) / RATE
    x = (
        RNG(2).normal(size=len(t))
        if what == "hiss"
        else sum(np.sin(2 * np.pi * 50 * k * t + k) / k for k in (1, 2, 3, 5))
    )
    x = np.where(t < 0.5, 0.0, x / np.std(x) * 10 ** (level_db / 20))
    got = readings(hissed(x))
    assert abs(got[-1, 3] - level_db) < 6.0
    assert not got[got[:, 0] > 2.5, 1].any()


def test_what_a_damped_note_leaves_is_no_note_until_it_rises() -> None:
    """Other strings ring on 40 dB down after a hand stopped the loud one: a pitch that nobody played."""
    x = np.concatenate([0.8 * string(note_hz(64), 0.3), np.zeros(RATE)])
    x[:RATE] += 0.004 * string(note_hz(55), 1.0, decay_s=3.0)
    x = np.concatenate([np.zeros(RATE // 4), x])
    got = readings(hissed(x))
    left = got[(got[:, 0] > 0.65) & (got[:, 0] < 1.2)]
    assert not left[:, 1].any()


def test_the_gate_takes_what_stands_still_for_silence_and_nothing_else() -> None:
    steady, falling = Gate(), Gate()
    for gate in (steady, falling):
        for _ in range(100):
            gate.hear(1e-9, over_noise=0.0)
            gate.learn()
        gate.interrupted()
    for tick in range(800):
        steady.hear(1e-5, over_noise=0.0)
        steady.learn()
        falling.hear(1e-5 * 10 ** (-tick * 0.00267 * 0.6), over_noise=0.0)
        falling.learn()
    assert steady.floor == pytest.approx(1e-5, rel=0.1)
    assert falling.floor < 1e-7
