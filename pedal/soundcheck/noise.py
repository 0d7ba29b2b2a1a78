"""What an input gives while nobody plays, hum of the mains told apart from hiss; and in words, with what to do."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.soundcheck.levels import db_of, rms
from pedal.values import frozen

MAINS_HZ = (50.0, 60.0)
"""The two frequencies of public supplies (IEC 60038 names both)."""
WANDER_HZ = 0.2
"""Supplies are kept within some 0.2 Hz of that in ordinary operation (EN 50160 allows 1 %; from memory)."""
STEP_HZ, FINE_HZ = 0.04, 0.0025
HARMONICS = 8
"""Up to 400 or 480 Hz: rectifiers make even ones, transformers odd ones; above lies the light dimmers' buzz."""
SLOW_HZ = 2000
"""Samples are thinned to about this many a second before hum is looked for."""
STANDS_OUT = 8.0
"""Times what hiss alone would put into the harmonics, from which they are called hum: hiss reaches half of it by
chance once in some thousand times (a sum of 16 squares)."""
LEAST_S = 0.5
"""A shorter piece does not tell 50 Hz from 60."""


@frozen
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
    few = max(1, round(rate_hz / SLOW_HZ))
    slow = _thinned(samples, few)
    times_s = (np.arange(len(slow)) * few + (few - 1) / 2) / rate_hz  # of the middle of each mean
    hum, mains_hz = max(
        ((_hum(slow, times_s, few / rate_hz, hz), hz) for hz in MAINS_HZ), key=lambda pair: pair[0].power
    )
    by_chance = 2 * HARMONICS * max(float(np.var(slow)) - hum.power, 0.0) / len(slow)
    if hum.power <= STANDS_OUT * by_chance or hum.power <= 0.0:
        return Noise(db_of(total), db_of(0.0), db_of(total), 0.0)
    hiss = rms(samples - hum.wave(np.arange(len(samples)) / rate_hz))
    return Noise(db_of(total), db_of(float(np.sqrt(hum.power))), db_of(hiss), mains_hz)


@frozen
class _Hum:
    """Harmonics of `hz`: `waves` are the amplitudes of their cosines, then of their sines."""

    hz: float
    waves: NDArray[np.float64]

    @property
    def power(self) -> float:
        """Mean square."""
        return float(np.sum(self.waves**2) / 2)

    def wave(self, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """What it is at these times."""
        return np.asarray(harmonic_waves(times_s, self.hz, HARMONICS) @ self.waves, dtype=np.float64)


def _thinned(samples: NDArray[np.float32], few: int) -> NDArray[np.float64]:
    """Means of so many neighbours, about their own mean."""
    slow: NDArray[np.float64] = samples[: len(samples) // few * few].astype(np.float64).reshape(-1, few).mean(axis=1)
    return np.asarray(slow - slow.mean(), dtype=np.float64)


def _hum(slow: NDArray[np.float64], times_s: NDArray[np.float64], each_s: float, mains_hz: float) -> _Hum:
    """The harmonics of a supply near `mains_hz`, where they fit best."""

    def best(hz: float, reach_hz: float, step_hz: float) -> _Hum:
        nearby = hz + np.arange(-reach_hz, reach_hz + step_hz / 2, step_hz)
        return max((_fit(slow, times_s, each_s, near_hz) for near_hz in nearby.tolist()), key=lambda hum: hum.power)

    return best(best(mains_hz, WANDER_HZ, STEP_HZ).hz, STEP_HZ, FINE_HZ)


def _fit(slow: NDArray[np.float64], times_s: NDArray[np.float64], each_s: float, hz: float) -> _Hum:
    waves = harmonic_waves(times_s, hz, HARMONICS)
    found = np.linalg.solve(waves.T @ waves, waves.T @ slow)  # no two of them are alike: half a second tells them
    weakened = np.sinc(np.arange(1, HARMONICS + 1) * hz * each_s)  # by taking means
    return _Hum(hz, found / np.tile(weakened, 2))


def harmonic_waves(times_s: NDArray[np.float64], hz: float, count: int) -> NDArray[np.float64]:
    """Cosines of the first `count` multiples of `hz` at these times, then their sines, a column each."""
    first = np.exp(2j * np.pi * hz * times_s)
    waves = np.cumprod(np.repeat(first[:, np.newaxis], count, axis=1), axis=1)  # its powers, as cheap as products
    return np.hstack([waves.real, waves.imag])


QUIET_DB, NOISY_DB = -70.0, -55.0
"""Silence is taken to be at -75 dBFS until it was heard, and a note is heard 8 dB over it: below -70 nothing is lost.
From -55 a note at -20 dBFS, which loses some 10 dB a second, is lost in noise after two to three seconds."""
HUM_OVER_HISS_DB = 3.0
"""From here the hum is what is heard."""
SOUNDED_DB = 14.0
"""The loudest 5 ms of noise stand this far over its mean at most: twice what hum and its peaks reach; a note, more."""


def noise_title(noise: Noise) -> str:
    """One word: QUIET, HUM or HISS."""
    if noise.total_db < QUIET_DB:
        return "QUIET"
    return "HUM" if noise.mains_hz and noise.hum_db >= noise.hiss_db + HUM_OVER_HISS_DB else "HISS"


def noise_words(noise: Noise) -> str:
    """One sentence with its figures and, where something could be better, what to do."""
    return " ".join(f"{words}." for words in noise_fact_and_remedy(noise) if words)


def noise_fact_and_remedy(noise: Noise) -> tuple[str, str]:
    """Both apart, without a full stop; the remedy is "" where nothing could be better."""
    level = f"{noise.total_db:.0f} dBFS"
    if noise.total_db < QUIET_DB:
        return f"Quiet: noise at {level}", ""
    how = "Much" if noise.total_db >= NOISY_DB else "Some"
    if noise_title(noise) == "HUM":
        return f"{how} hum: {noise.mains_hz:.0f} Hz at {noise.hum_db:.0f} dBFS", "Isolated supply, one outlet for all"
    return f"{how} hiss: {level}", "Guitar at full volume, input gain lower"
