"""Inner samples -> how loud each tick of them is, and how steep: all at once, because calls cost more than the sums."""

from __future__ import annotations

import numpy as np

from pedal.pitch.intake import Samples

Tick = tuple[float, float]
"""Sums over one tick: of the squares of its samples, and of the squares of their differences."""


def ticks_of(samples: Samples, count: int) -> list[Tick]:
    """The ticks of `count` samples each, shape (1 + n * count,) with the sample before the first of them."""
    if len(samples) == 1 + count:  # one alone: the same sums, without what it takes to set many up
        own, differences = samples[1:], samples[1:] - samples[:-1]
        return [(float(own.dot(own)), float(differences.dot(differences)))]
    each = np.empty((2, len(samples) // count, 1, count), np.float32)
    flat = each.reshape(2, -1)
    flat[0] = samples[1:]
    np.subtract(samples[1:], samples[:-1], out=flat[1])
    energies, slopes = np.matmul(each, each.transpose(0, 1, 3, 2)).reshape(2, -1).tolist()
    return list(zip(energies, slopes, strict=True))
