"""Sounds for the listener: a few plucked strings of nine partials each, added up here and nowhere else."""

from __future__ import annotations

import numpy as np

RATE = 48000


def partials(count: int, phase: np.ndarray, t: np.ndarray, decay: float, more: float) -> np.ndarray:
    """The sum of sin(k phase) exp(-t (decay + more k)) / k: powers of the first, not a sine for each."""
    first = np.exp(1j * phase - more * t)
    power, found = np.exp(-decay * t) * first, np.zeros(len(t))
    for k in range(1, count + 1):
        found += power.imag / k
        power *= first
    return found


def string(
    hz,
    seconds: float,
    *,
    peak: float = 0.25,
    decay_s: float = 1.5,
    cut_s: float = 0.012,
    pick: float = 0.2,
    seed: int = 3,
):
    """One pluck; `hz` a number or a curve, one a sample. Stopped within `cut_s` at its end."""
    n = round(seconds * RATE)
    curve = np.broadcast_to(np.asarray(hz, dtype=float), (n,))
    t, phase = np.arange(n) / RATE, 2 * np.pi * np.cumsum(curve) / RATE
    sound = partials(9, phase, t / decay_s, 1.0, 0.3)
    scratch = np.random.default_rng(seed).normal(size=n) * np.exp(-t / 0.004)
    sound = sound / np.abs(sound).max() * peak + pick * peak * scratch
    m = min(n, round(cut_s * RATE))
    sound[-m:] *= np.linspace(1, 0, m) ** 2
    return sound


def scene(seconds: float, *parts, noise_db: float = -75.0, seed: int = 5):
    """float32 samples: (start in seconds, sound) parts laid over a noise floor."""
    samples = np.random.default_rng(seed).normal(size=round(seconds * RATE)) * 10 ** (noise_db / 20)
    for at_s, sound in parts:
        at = round(at_s * RATE)
        samples[at : at + len(sound)] += sound[: len(samples) - at]
    return samples.astype(np.float32)


def curve(hz: float, *legs: tuple[float, float], start_cents: float = 0.0):
    """Hertz a sample along (seconds, cents) legs, each half a cosine; 0 seconds is a jump."""
    parts, here = [], start_cents
    for seconds, cents in legs:
        n = round(seconds * RATE)
        parts.append(here + (cents - here) * (0.5 - 0.5 * np.cos(np.pi * np.arange(n) / max(n, 1))))
        here = cents
    return hz * 2 ** (np.concatenate(parts) / 1200)
