"""A pitch curve -> the sound of one plucked string on a magnetic pickup, sample by sample.

The string is a sum of decaying partials that all follow the same curve, so the pitch heard is exactly the pitch asked
for: the first partial is the truth. Partials are stretched by stiffness, shaped by where the string is plucked and by
where the pickup sits, and die the faster the higher they are. The pick adds a few milliseconds of noise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.values import frozen

MOST_PARTIALS = 28
_INAUDIBLE = 1e-4
"""-80 dB: from here on a partial is left out."""
_PICK_NOISE_S = 0.012


@frozen
class Timbre:
    """How a string sounds.

    stiffness : inharmonicity B of f_n = n f_0 sqrt(1 + B n^2); 1e-5 for a thin high string, 4e-4 for a thick plain one.
    pluck_at, pickup_at : distance from the bridge as a share of the speaking length, 0 to 1, both ends excluded.
    decay_s : time constant of the first partial, seconds.
    damping_hz : the decay of a partial doubles in speed at about this frequency; lower is duller.
    cutoff_hz : the pickup and lead take away what lies above.
    pick_noise : level of the pick's scratch against the tone, 0 for none.
    """

    stiffness: float = 5e-5
    pluck_at: float = 0.19
    pickup_at: float = 0.11
    decay_s: float = 2.6
    damping_hz: float = 900.0
    cutoff_hz: float = 3200.0
    pick_noise: float = 0.25


PLAIN_TIMBRE = Timbre()


def pluck(
    hz: NDArray[np.float64],
    *,
    sample_rate: int,
    rng: np.random.Generator,
    timbre: Timbre = PLAIN_TIMBRE,
    peak: float = 0.3,
) -> NDArray[np.float32]:
    """The sound of one pluck whose first partial follows `hz`.

    Parameters
    ----------
    hz : float64 array, shape (n,)
        Frequency of the first partial at each sample, > 0 and below half the sample rate.
    sample_rate : int
        Samples a second.
    rng : numpy Generator
        Source of the pick noise; the tone itself has no chance in it.
    timbre : Timbre
        How the string sounds.
    peak : float
        Largest absolute sample, 0 to 1.

    Returns
    -------
    samples : float32 array, shape (n,)
        Begins at the pluck, with no silence before it.

    Raises
    ------
    ValueError
        If the curve is empty or leaves the range.

    Notes
    -----
    Partial amplitudes of an ideal pluck at p, heard as velocity at q: sin(n pi p) sin(n pi q) / n (Fletcher & Rossing,
    "The Physics of Musical Instruments", ch. 2; from memory). The growth of damping with frequency is a fit by ear.
    """
    if len(hz) == 0 or not (np.min(hz) > 0 and np.max(hz) < sample_rate / 2):
        raise ValueError(f"hz must hold frequencies above 0 and below {sample_rate / 2} Hz")
    cycles = np.cumsum(hz) / sample_rate
    highest_hz, middle_hz = float(hz.max()), float(np.median(hz))
    tone = np.zeros(len(hz), np.float32)
    for number in range(1, MOST_PARTIALS + 1):
        ratio = number * float(np.sqrt((1 + timbre.stiffness * number**2) / (1 + timbre.stiffness)))
        if ratio * highest_hz >= 0.45 * sample_rate:
            break
        _add_partial(tone, cycles, sample_rate, timbre, number=number, ratio=ratio, partial_hz=ratio * middle_hz)
    tone /= float(np.max(np.abs(tone)))
    tone += timbre.pick_noise * _pick_noise(len(hz), sample_rate, rng)
    return np.asarray(tone * (peak / float(np.max(np.abs(tone)))), np.float32)


def _add_partial(
    tone: NDArray[np.float32],
    cycles: NDArray[np.float64],
    sample_rate: int,
    timbre: Timbre,
    *,
    number: int,
    ratio: float,
    partial_hz: float,
) -> None:
    """Add one partial to the tone, up to where it is no longer heard."""
    comb = np.sin(number * np.pi * timbre.pluck_at) * np.sin(number * np.pi * timbre.pickup_at)
    amplitude = float(comb) / number / (1 + (partial_hz / timbre.cutoff_hz) ** 4) ** 0.5
    decay_s = timbre.decay_s / (1 + (partial_hz / timbre.damping_hz) ** 1.5)
    if abs(amplitude) < _INAUDIBLE:
        return
    heard_samples = min(len(tone), 1 + int(decay_s * np.log(abs(amplitude) / _INAUDIBLE) * sample_rate))
    turns = cycles[:heard_samples] * ratio
    turns -= np.floor(turns)  # before single precision: a phase of thousands of turns would lose its cents
    wave = np.sin(turns.astype(np.float32) * np.float32(2 * np.pi))
    wave *= _decay(heard_samples, decay_s, sample_rate)
    wave *= np.float32(amplitude)
    tone[:heard_samples] += wave


def _decay(samples: int, decay_s: float, sample_rate: int) -> NDArray[np.float32]:
    """An exponential from 1."""
    return np.asarray(np.exp(np.arange(samples, dtype=np.float32) * np.float32(-1 / (decay_s * sample_rate))))


def _pick_noise(samples: int, sample_rate: int, rng: np.random.Generator) -> NDArray[np.float32]:
    """A scratch of white noise, softened above, that is over after a few milliseconds; peak 1."""
    length = min(samples, max(8, int(_PICK_NOISE_S * sample_rate)))
    scratch = np.convolve(rng.standard_normal(length + 2), [0.25, 0.5, 0.25], mode="valid")
    scratch *= np.exp(-np.arange(length) / (0.0025 * sample_rate)) * np.minimum(1, np.arange(length) / 8)
    noise = np.zeros(samples, np.float32)
    noise[:length] = scratch / max(1e-12, float(np.max(np.abs(scratch))))
    return noise
