"""What an input gives while nobody plays: hum of the mains, told apart from hiss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.soundcheck.decibels import db_of, rms

MAINS_HZ = (50.0, 60.0)
"""The two frequencies of public supplies (IEC 60038 names both)."""
WANDER_HZ = 0.2
"""Supplies are kept within some 0.2 Hz of that in ordinary operation (EN 50160 allows 1 %; from memory)."""
STEP_HZ, FINE_HZ = 0.04, 0.005
HARMONICS = 8
"""Up to 400 or 480 Hz: rectifiers make even ones, transformers odd ones; above lies the light dimmers' buzz."""
SLOW_HZ = 2000
"""Samples are thinned to about this many a second before hum is looked for."""
STANDS_OUT = 8.0
"""Times what hiss alone would put into the harmonics, from which they are called hum: hiss reaches half of it by
chance once in some thousand times (a sum of 16 squares)."""
LEAST_S = 0.5
"""A shorter piece does not tell 50 Hz from 60."""


@dataclass(frozen=True, slots=True)
class Noise:
    """RMS in dBFS of everything, of the hum, and of the rest; `mains_hz` 0.0 and `hum_db` that of silence if none."""

    total_db: float
    hum_db: float
    hiss_db: float
    mains_hz: float


def measure_noise(samples: NDArray[np.float32], rate_hz: int) -> Noise:
    """Noise in mono samples in [-1, 1], taken while nothing sounds.

    Raises
    ------
    ValueError
        If there are fewer than `LEAST_S` seconds.

    Notes
    -----
    On made hum in made hiss: hum within 0.3 dB; hiss within 0.3 dB below a hum 20 dB louder, 1 dB below 30 dB
    (`tests/soundcheck/test_noise.py`).
    """
    if len(samples) < LEAST_S * rate_hz:
        raise ValueError(f"noise must last {LEAST_S} s at least, got {len(samples) / rate_hz:.2f} s")
    total = rms(samples)
    slow, slow_hz = _thinned(samples, rate_hz)
    power, mains_hz = max((_hum_power(slow, slow_hz, hz), hz) for hz in MAINS_HZ)
    by_chance = 2 * HARMONICS * max(float(np.var(slow)) - power, 0.0) / len(slow)
    if power <= STANDS_OUT * by_chance or power <= 0.0:
        return Noise(db_of(total), db_of(0.0), db_of(total), 0.0)
    hiss = np.sqrt(max(total**2 - power, 0.0))
    return Noise(db_of(total), db_of(np.sqrt(power)), db_of(float(hiss)), mains_hz)


def _thinned(samples: NDArray[np.float32], rate_hz: int) -> tuple[NDArray[np.float64], float]:
    """Means of neighbours, and how many of them a second there are."""
    few = max(1, round(rate_hz / SLOW_HZ))
    whole = samples[: len(samples) // few * few].astype(np.float64).reshape(-1, few)
    slow = whole.mean(axis=1)
    return slow - slow.mean(), rate_hz / few


def _hum_power(slow: NDArray[np.float64], slow_hz: float, mains_hz: float) -> float:
    """Mean square of the harmonics of a supply near `mains_hz`, where it fits best."""

    def best(hz: float, reach_hz: float, step_hz: float) -> tuple[float, float]:
        nearby = hz + np.arange(-reach_hz, reach_hz + step_hz / 2, step_hz)
        return max((_power_of_harmonics(slow, slow_hz, near_hz), near_hz) for near_hz in nearby.tolist())

    _, near_hz = best(mains_hz, WANDER_HZ, STEP_HZ)
    return best(near_hz, STEP_HZ, FINE_HZ)[0]


def _power_of_harmonics(slow: NDArray[np.float64], slow_hz: float, hz: float) -> float:
    numbers = np.arange(1, HARMONICS + 1)
    turns = np.outer(np.arange(len(slow)) / slow_hz, numbers * hz) * (2 * np.pi)
    waves = np.hstack([np.cos(turns), np.sin(turns)])
    found = np.linalg.solve(waves.T @ waves, waves.T @ slow)  # no two of them are alike: half a second tells them
    powers = (found[:HARMONICS] ** 2 + found[HARMONICS:] ** 2) / 2
    weakened = np.sinc(numbers * hz / slow_hz)  # by taking means
    return float(np.sum(powers / weakened**2))
