"""Takes of one modelled guitar string whose first partial is known at every sample, and what the ear makes of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.pitch import Reading, make_tracker

RATE, HOP = 48_000, 128
LEAD_S = 0.25
"""Silence before the pluck."""


@dataclass(frozen=True)
class Heard:
    """One row a push; times count from the pluck."""

    time_s: NDArray[np.float64]
    heard_s: NDArray[np.float64]
    hz: NDArray[np.float64]
    now_hz: NDArray[np.float64]
    attack_db: NDArray[np.float64]
    confidence: NDArray[np.float64]
    level_db: NDArray[np.float64]


def note_hz(midi: float) -> float:
    """ISO 16, MIDI 1.0."""
    return 440.0 * 2.0 ** ((midi - 69) / 12)


def swings(count: int, turns: float, decay: float) -> NDArray[np.complex128]:
    """exp((2 pi i `turns` - `decay`) n) of the samples n = 0, 1, ...: products of a few, not each an exponential."""
    rate, few = 2j * np.pi * turns - decay, math.isqrt(count) + 1
    near, far = np.exp(rate * np.arange(few)), np.exp(rate * few * np.arange(few))
    return np.asarray((far[:, np.newaxis] * near).ravel()[:count])


def string(
    hz: float | NDArray[np.float64],
    seconds: float = 0.7,
    *,
    rate: int = RATE,
    stiffness: float = 6e-5,
    pluck_at: float = 0.17,
    pickup_at: float = 0.13,
    decay_s: float = 1.5,
    pick_noise: float = 0.1,
    seed: int = 0,
) -> NDArray[np.float64]:
    """A plucked stiff string of peak 1: partial k lies at k f sqrt((1 + B k^2) / (1 + B)), high ones die first.

    Source of the partials: Fletcher and Rossing, "The Physics of Musical Instruments", ch. 2 (from memory).
    """
    count = int(seconds * rate)
    f = np.broadcast_to(np.asarray(hz, dtype=np.float64), (count,))
    phase = None if np.ndim(hz) == 0 else 2 * np.pi * np.cumsum(f) / rate
    x = np.zeros(count)
    for k in range(1, 80):
        ratio = k * np.sqrt((1 + stiffness * k * k) / (1 + stiffness))
        if ratio * f.max() > 0.42 * rate or ratio * f.max() > 12_000:
            break
        strength = np.sin(np.pi * k * pluck_at) * np.sin(np.pi * k * pickup_at) / k
        decay = (1 / decay_s + 1.1 * (ratio * f[0] / 1000) ** 1.5) / rate
        if phase is None:  # the first sample is one step on, as in a sum of steps
            turns = ratio * f[0] / rate
            x += strength * (np.exp(2j * np.pi * turns) * swings(count, turns, decay)).imag
        else:
            x += strength * swings(count, 0.0, decay).real * np.sin(ratio * phase)
    scratch = np.random.default_rng(seed).normal(size=int(0.004 * rate))
    x[: len(scratch)] += (
        pick_noise * np.abs(x).max() * scratch * np.exp(-np.arange(len(scratch)) / len(scratch) * 4) / 3
    )
    return x / np.abs(x).max()


def take(
    note: NDArray[np.float64], *, rate: int = RATE, peak: float = 0.4, hiss_db: float = -84.0, seed: int = 1
) -> NDArray[np.float32]:
    """The note between two silences, with a converter's hiss."""
    lead = np.zeros(int(LEAD_S * rate))
    x = np.concatenate([lead, peak * note, lead])
    return (x + np.random.default_rng(seed).normal(size=len(x)) * 10 ** (hiss_db / 20)).astype(np.float32)


def hear(samples: NDArray[np.float32], *, rate: int = RATE, hop: int = HOP, lead_s: float = LEAD_S) -> Heard:
    """All readings of a take."""
    tracker = make_tracker(rate, hop)
    rows = []
    for start in range(0, len(samples) - hop + 1, hop):
        (reading,) = tracker.push(samples[start : start + hop])
        assert isinstance(reading, Reading)
        r = reading
        rows.append(
            (r.time_s - lead_s, r.heard_s - lead_s, r.hz, tracker.now_hz, r.attack_db, r.confidence, r.level_db)
        )
    return Heard(*np.array(rows).T)


def cents(heard_hz: NDArray[np.float64], true_hz: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Signed; nothing heard counts as infinitely far off."""
    with np.errstate(divide="ignore"):
        return np.where(heard_hz > 0, 1200 * np.log2(np.maximum(heard_hz, 1e-9) / true_hz), np.inf)


def sounding(heard: Heard, until_s: float, since_s: float = 0.05) -> NDArray[np.bool_]:
    """Rows well inside the note."""
    return (heard.time_s > since_s) & (heard.heard_s < until_s)
