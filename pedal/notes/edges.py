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
        slope = joined[1:] - joined[:-1]
        curve = slope[1:] - slope[:-1]
        hop, edges = self._hop, []
        for at in range(0, len(samples), hop):
            one, two = slope[at + 1 : at + 1 + hop], curve[at : at + hop]
            edges.append(Edge(float(one.dot(one)) / hop, float(two.dot(two)) / hop))
        return edges

    def forget(self) -> None:
        """Samples were lost: what comes does not join on."""
        self._before[:] = 0.0
