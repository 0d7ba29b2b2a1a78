"""The last seconds of sound, to be cut from after the fact. No clock, thread or file."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


class SoundRing:
    """`.push(samples)` remembers, `.cut(first, last)` gives back what is still remembered; positions count samples.

    Lost samples count as silence, so that a position means the same here and in the chain.
    """

    def __init__(self, capacity: int) -> None:
        self._kept = np.zeros(capacity, np.float32)
        self.heard = 0
        """Samples pushed or lost so far: the position of the next one."""

    def push(self, samples: NDArray[np.float32], *, lost_samples: int = 0) -> None:
        """Remember float32 samples; `lost_samples` went missing just before them."""
        if lost_samples:
            self._write(np.zeros(min(lost_samples, len(self._kept)), np.float32), skip=lost_samples)
        self._write(samples, skip=len(samples))

    def cut(self, first: int, last: int) -> NDArray[np.float32]:
        """A copy of the samples from `first` up to `last`, shorter where they are forgotten or still to come."""
        first = max(first, self.heard - len(self._kept), 0)
        last = min(last, self.heard)
        return self._kept[np.arange(first, max(first, last)) % len(self._kept)]

    def _write(self, samples: NDArray[np.float32], *, skip: int) -> None:
        """The newest of the samples at their places, position moved on by `skip`."""
        samples = samples[-len(self._kept) :]
        begin = (self.heard + skip - len(samples)) % len(self._kept)
        before_end = min(len(samples), len(self._kept) - begin)
        self._kept[begin : begin + before_end] = samples[:before_end]
        self._kept[: len(samples) - before_end] = samples[before_end:]
        self.heard += skip
