"""The drone's own voice: of which partials a chord is made, and how one chord gives way to the next.

Both who plays it and who takes it off again when it comes back ask here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

HARMONICS = 12
HIGHEST_HZ = 4000.0
CROSSING_S = 0.05
"""A chord in time gives way to the next along a raised cosine of this length, whose middle is the beat."""
CLICK_DECAY_S = 0.010
"""A click falls to 1/e in so long."""
CLICK_S = 0.060
"""So long is a click in all."""
_SOFTENING_HZ = 1400.0
_GOLDEN_TURN = 0.6180339887498949
_GRID = 2048
_GRID_MARGIN = 1.001
"""Between points of the grid the twelfth harmonic rises by 1 - cos(pi 12 / 2048), 0.0002, at most."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Partials:
    """A chord as a sum of `weights * sin(2 pi (first_turns + hz * time_s))`, of shape (n,), never beyond -1 to 1."""

    hz: Floats
    weights: Floats
    first_turns: Floats


def chord_partials(chord: tuple[float, ...], *, highest_hz: float) -> Partials:
    """The partials of a chord's notes, given in hertz, below `highest_hz`."""
    notes = [_note(hz, min(HIGHEST_HZ, highest_hz)) for hz in chord]
    # Each note repeats, so its peak is known; all of them together cannot exceed the sum of the peaks.
    bound = sum(_peak(numbers, weights) for numbers, weights in notes)
    numbers = np.concatenate([numbers for numbers, _ in notes])
    return Partials(
        np.concatenate([n * hz for (n, _), hz in zip(notes, chord, strict=True)]),
        np.concatenate([weights for _, weights in notes]) / bound,
        numbers * _GOLDEN_TURN,
    )


def crossed(times_s: Floats, start_s: float, end_s: float) -> Floats:
    """The share, 0 to 1, that a chord from `start_s` to `end_s` has of the sound at each of rising times."""
    half_s = CROSSING_S / 2
    if len(times_s) and start_s + half_s <= times_s[0] and times_s[-1] <= end_s - half_s:
        return np.ones(len(times_s))  # nearly always, and asked for at each block
    came = np.clip((times_s - start_s) / CROSSING_S + 0.5, 0.0, 1.0)
    goes = np.clip((times_s - end_s) / CROSSING_S + 0.5, 0.0, 1.0)
    return np.asarray(0.5 * (np.cos(np.pi * goes) - np.cos(np.pi * came)))


def _note(hz: float, highest_hz: float) -> tuple[Floats, Floats]:
    """Numbers and weights of the harmonics of a note: 1/n, softened above, none from `highest_hz` on."""
    numbers = np.arange(1, HARMONICS + 1, dtype=np.float64)
    numbers = numbers[numbers * hz < highest_hz]
    return numbers, 1.0 / numbers / (1.0 + (numbers * hz / _SOFTENING_HZ) ** 2)


def _peak(numbers: Floats, weights: Floats) -> float:
    """The peak of a note over one period. A golden turn from harmonic to harmonic keeps their crests apart."""
    turns = numbers[:, None] * (np.arange(_GRID) / _GRID + _GOLDEN_TURN)
    return _GRID_MARGIN * float(np.max(np.abs(weights @ np.sin(2 * np.pi * turns))))
