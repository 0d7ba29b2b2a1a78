"""Samples -> how much edge each hop of them has: a pluck and a scratch are edges, a ringing string hardly has any."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]


Edge = tuple[float, float]
"""Mean squares of the first and the second differences of a hop (slope, curve); they weigh the upper part of the sound.
A plain tuple, because hundreds are made a second."""


class Edges:
    """Streaming. All hops of a push at once: for one of 128 samples the calls cost more than the sums."""

    def __init__(self, hop: int) -> None:
        self._hop = hop
        self._before: Samples = np.zeros(2, np.float32)

    def of(self, samples: Samples) -> list[Edge]:
        """The edge of each hop of n whole ones, shape (n * hop,); the two samples before belong to the differences."""
        joined = np.concatenate((self._before, samples))
        self._before = joined[-2:]
        hop, hops = self._hop, len(samples) // self._hop
        differences = np.empty((2, hops * hop), np.float32)
        first = joined[1:] - joined[:-1]
        differences[0] = first[1:]
        np.subtract(first[1:], first[:-1], out=differences[1])
        squares = np.matmul(differences.reshape(2, hops, 1, hop), differences.reshape(2, hops, hop, 1))
        slopes, curves = squares.reshape(2, hops).tolist()
        return [(slope / hop, curve / hop) for slope, curve in zip(slopes, curves, strict=True)]

    def forget(self) -> None:
        """Samples were lost: what comes does not join on."""
        self._before = np.zeros(2, np.float32)
