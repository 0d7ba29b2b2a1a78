"""What electric guitars do to a note: hum, hiss, clipping, offset, faint or short notes, other strings."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from string_takes import LEAD_S, RATE, cents, hear, note_hz, sounding, string, take

from tests.grids import grid

Samples = NDArray[np.float32]
RNG = np.random.default_rng


def seconds(x: Samples) -> NDArray[np.float64]:
    return np.arange(len(x)) / RATE


def hum(mains_hz: float, db: float) -> Callable[[Samples], Samples]:
    def add(x: Samples) -> Samples:
        t = seconds(x)
        lines = sum(g * np.sin(2 * np.pi * mains_hz * k * t + k) for k, g in ((1, 1.0), (2, 0.4), (3, 0.5), (5, 0.3)))
        return (x + np.abs(x).max() * 10 ** (db / 20) * lines).astype(np.float32)

    return add


def hiss(db: float) -> Callable[[Samples], Samples]:
    def add(x: Samples) -> Samples:
        note = x[int(LEAD_S * RATE) : -int(LEAD_S * RATE)]
        return (x + RNG(3).normal(size=len(x)) * np.std(note) * 10 ** (db / 20)).astype(np.float32)

    return add


def clipped(x: Samples) -> Samples:
    return np.clip(3 * x, -0.4, 0.4)


def crunch(x: Samples) -> Samples:
    """Lopsided and hard."""
    return (np.clip(x / np.abs(x).max() + 0.05, -0.15, 0.15) / 0.3).astype(np.float32)


def overdrive(x: Samples) -> Samples:
    return (0.5 * np.tanh(8 * x / np.abs(x).max())).astype(np.float32)


def offset(x: Samples) -> Samples:
    return x + np.float32(0.4)


def quiet(x: Samples) -> Samples:
    """Peak at -50 dBFS, over the noise of a good converter."""
    return (x / np.abs(x).max() * 10 ** (-50 / 20) + RNG(4).normal(size=len(x)) * 10 ** (-94 / 20)).astype(np.float32)


def ringing_strings(x: Samples) -> Samples:
    t = np.maximum(0, seconds(x) - LEAD_S)
    other = (
        sum(
            np.sin(2 * np.pi * note_hz(m + 0.03) * h * t) / h * np.exp(-t * h)
            for m in (40, 45, 50, 55, 59, 64)
            for h in (1, 2)
        )
        * np.minimum(1, t / 0.03)
        * (t < len(x) / RATE - 2 * LEAD_S)
    )
    return (x + 10 ** (-25 / 20) * np.abs(x).max() * other / np.abs(other).max()).astype(np.float32)


DEGRADATIONS = [
    ("50 Hz hum at -30 dB", hum(50, -30), 6.0),
    ("60 Hz hum at -30 dB", hum(60, -30), 6.0),
    ("hiss at -20 dB", hiss(-20), 12.0),
    ("hard clipping", clipped, 4.0),
    ("lopsided crunch", crunch, 8.0),
    ("overdrive", overdrive, 4.0),
    ("offset", offset, 2.0),
    ("peak at -50 dBFS", quiet, 4.0),
    ("ringing open strings", ringing_strings, 12.0),
]


@pytest.mark.parametrize(
    ("degraded", "midi"), grid({what: rest for what, *rest in DEGRADATIONS}, [40, 47, 57, 69, 81], each=2)
)
def test_a_degraded_note_is_heard_and_silence_is_not(
    degraded: tuple[Callable[[Samples], Samples], float], midi: int
) -> None:
    change, within_cents = degraded
    heard = hear(change(take(string(note_hz(midi), 0.6, decay_s=0.9))))
    off = np.abs(cents(heard.hz, note_hz(midi)))[sounding(heard, 0.55, since_s=0.08)]
    assert np.isfinite(off).all(), "the note is lost on the way"
    assert np.percentile(off, 95) < within_cents
    assert off.max() < 50
    silent = (heard.heard_s < 0) | (heard.time_s > 0.7)
    assert not heard.hz[silent].any(), f"heard {heard.hz[silent].max():.0f} Hz in silence"


@pytest.mark.parametrize("midi", [40, 52, 64])
def test_a_sixty_millisecond_note_is_heard(midi: int) -> None:
    note = string(note_hz(midi), 0.06)
    note[-240:] *= np.linspace(1, 0, 240)
    heard = hear(take(note))
    voiced = heard.hz > 0
    assert np.abs(np.median(cents(heard.hz[voiced], note_hz(midi)))) < 5
    assert not heard.hz[heard.heard_s > 0.12].any()


@pytest.mark.parametrize("midi", [40, 50, 62])
def test_a_palm_mute_is_heard(midi: int) -> None:
    heard = hear(take(string(note_hz(midi), 0.3, decay_s=0.07, pick_noise=0.2)))
    off = np.abs(cents(heard.hz, note_hz(midi)))[sounding(heard, 0.15, since_s=0.04)]
    assert np.isfinite(off).all()
    assert off.max() < 20


@pytest.mark.parametrize("harmonic", [2, 3, 4])
def test_a_flageolet_is_the_note_it_sounds(harmonic: int) -> None:
    """Touched at a node only every second (third, fourth) partial of the open string is left."""
    true_hz = harmonic * note_hz(45)
    heard = hear(take(string(true_hz, 0.5, stiffness=2e-5)))
    assert np.abs(cents(heard.hz, true_hz))[sounding(heard, 0.45)].max() < 5


@pytest.mark.parametrize("steps", [2, -2, 5, 12])
def test_legato_changes_the_note_without_a_gap_of_more_than_40_ms(steps: int) -> None:
    low, high = note_hz(52), note_hz(52 + steps)
    curve = np.where(np.arange(int(0.8 * RATE)) < 0.4 * RATE, low, high)
    heard = hear(take(string(curve, 0.8)))
    late = (heard.heard_s > 0.44) & (heard.heard_s < 0.78)
    assert np.abs(cents(heard.now_hz, high))[late].max() < 10
    early = (heard.time_s > 0.05) & (heard.heard_s < 0.4)
    assert np.abs(cents(heard.hz, low))[early].max() < 3


@pytest.mark.parametrize("midi", [40, 55, 71])
def test_the_end_of_a_note_is_silence_within_60_ms(midi: int) -> None:
    note = string(note_hz(midi), 0.5)
    note[-960:] *= np.linspace(1, 0, 960)
    heard = hear(take(note))
    assert (heard.hz[(heard.heard_s > 0.1) & (heard.heard_s < 0.47)] > 0).all()
    assert not heard.hz[heard.heard_s > 0.56].any()
