"""Samples -> how much edge each hop of them has: a pluck and a scratch are edges, a ringing string hardly has any."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]


class Edge(NamedTuple):
    """Mean squares of the first and the second differences of a hop; they weigh the upper part of the sound."""

    slope: float
    curve: float


class Edges:
    """Streaming. All hops of a push at once: for one of 128 samples the calls cost more than the sums."""

    def __init__(self, hop: int) -> None:
        self._hop = hop
        self._before: Samples = np.zeros(2, np.float32)

    def of(self, samples: Samples) -> list[Edge]:
        """The edge of each hop of n whole ones, shape (n * hop,); the two samples before belong to the differences."""
        joined = np.concatenate((self._before, samples))
        self._before = joined[-2:].copy()
        hop, hops = self._hop, len(samples) // self._hop
        rows = np.empty((2, hops, hop), np.float32)
        slope, curve = rows.reshape(2, -1)
        first = joined[1:] - joined[:-1]
        slope[:] = first[1:]
        np.subtract(slope, first[:-1], out=curve)
        slopes, curves = np.matmul(rows[:, :, np.newaxis], rows[..., np.newaxis]).reshape(2, hops).tolist()
        return [Edge(one / hop, two / hop) for one, two in zip(slopes, curves, strict=True)]

    def forget(self) -> None:
        """Samples were lost: what comes does not join on."""
        self._before[:] = 0.0
