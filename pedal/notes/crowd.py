"""Blocks of one note -> did a second string sound with it?"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.company import unexplained_share

WINDOW_S = 0.200
LOOK_EACH_S = 0.100
PLUCK_S = 0.050
"""The pick's own noise is over by then."""
LEAST_SHARE = 0.05
"""Half of the looks find at least so much that one string cannot explain: two were struck (measured on sampled guitars)."""


class Crowd:
    """Keeps the newest 0.2 s and looks at them ten times a second."""

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._rate, self._hop_s = sample_rate, hop / sample_rate
        self._blocks: deque[NDArray[np.float32]] = deque(maxlen=max(1, round(WINDOW_S * sample_rate / hop)))
        self._shares: list[float] = []
        self._next_s = 0.0

    def begin(self, onset_s: float) -> None:
        """A note began."""
        self._shares = []
        self._next_s = onset_s + PLUCK_S + WINDOW_S

    def listen(self, block: NDArray[np.float32], now_s: float, *, sounding: bool) -> None:
        """One block more, its last sample at `now_s`; it is looked at only while a note is sounding."""
        self._blocks.append(block)
        if sounding and now_s >= self._next_s and len(self._blocks) == self._blocks.maxlen:
            self._next_s = now_s + LOOK_EACH_S
            self._shares.append(unexplained_share(np.concatenate(self._blocks), self._rate))

    def forget(self) -> None:
        """Samples were lost: what was kept no longer joins on."""
        self._blocks.clear()

    @property
    def found(self) -> bool:
        """Whether a second string sounded with this note."""
        return bool(self._shares) and float(np.median(self._shares)) >= LEAST_SHARE
