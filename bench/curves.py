"""What a player does with a note: cents above the rest pitch, one value a block of 64 samples."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE, BLOCK = 48_000, 64
BLOCK_S = BLOCK / RATE

Curve = NDArray[np.float64]


@dataclass(frozen=True)
class Played:
    """The curve and how long the closing fade lasts."""

    cents: Curve
    fade_s: float


def _hold(cents: float, seconds: float) -> Curve:
    return np.full(round(seconds / BLOCK_S), float(cents))


def _glide(start: float, end: float, seconds: float) -> Curve:
    share = (np.arange(round(seconds / BLOCK_S)) + 0.5) * BLOCK_S / seconds
    return start + (end - start) * (0.5 - 0.5 * np.cos(np.pi * share))


def _steady(rng: np.random.Generator) -> Played:
    return Played(_hold(0, rng.uniform(0.8, 1.2)), 0.04)


def _curl(rng: np.random.Generator) -> Played:
    top = rng.uniform(20, 50)
    return Played(np.concatenate([_hold(0, 0.3), _glide(0, top, rng.uniform(0.1, 0.3)), _hold(top, 0.15)]), 0.012)


def _bend(rng: np.random.Generator) -> Played:
    top = 100.0 * rng.integers(1, 4)
    return Played(np.concatenate([_hold(0, 0.3), _glide(0, top, rng.uniform(0.1, 0.5)), _hold(top, 0.4)]), 0.04)


def _release(rng: np.random.Generator) -> Played:
    top = 100.0 * rng.integers(1, 4)
    there, back = _glide(0, top, rng.uniform(0.15, 0.4)), _glide(top, 0, rng.uniform(0.1, 0.4))
    return Played(np.concatenate([_hold(0, 0.3), there, _hold(top, 0.2), back, _hold(0, 0.25)]), 0.04)


def _prebend(rng: np.random.Generator) -> Played:
    top = 100.0 * rng.integers(1, 4)
    return Played(np.concatenate([_hold(top, 0.4), _glide(top, 0, rng.uniform(0.1, 0.5)), _hold(0, 0.3)]), 0.04)


def _vibrato(rng: np.random.Generator) -> Played:
    t = np.arange(round(0.8 / BLOCK_S)) * BLOCK_S
    swing = rng.uniform(15, 40) * np.sin(2 * np.pi * rng.uniform(5, 6.5) * t) * np.minimum(1, t / 0.15)
    return Played(np.concatenate([_hold(0, 0.3), swing]), 0.04)


MOTIONS: dict[str, Callable[[np.random.Generator], Played]] = {
    "steady": _steady,
    "curl": _curl,
    "bend": _bend,
    "release": _release,
    "pre-bend": _prebend,
    "vibrato": _vibrato,
}
