"""The newest inner samples through a kernel, each worked out once however often it is looked at."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

TAPS = 14


class Sound(Protocol):
    """What was heard, at the inner rate: as `Intake` keeps it."""

    heard: int
    """Samples so far; more than any look is long are skipped where nothing joins on."""

    def newest(self, count: int) -> Samples:
        """The last `count` samples."""


def band_kernel(cutoff_hz: float, rate_hz: float) -> Samples:
    """What is above the cutoff says much about the pick; a difference takes out the thump below."""
    at = np.arange(TAPS - 1) - (TAPS - 2) / 2
    low_pass = np.sinc(2 * cutoff_hz / rate_hz * at) * np.kaiser(TAPS - 1, 3.0)
    kernel: Samples = np.convolve(low_pass / low_pass.sum(), [1.0, -1.0]).astype(np.float32)
    return kernel


class Band:
    """`.newest(sound, count)` gives the newest of one sound in this band, at most `longest` of it (a view)."""

    def __init__(self, cutoff_hz: float, rate_hz: float, longest: int) -> None:
        self._kernel = band_kernel(cutoff_hz, rate_hz)
        self._longest = longest
        self._kept = np.zeros(3 * longest, np.float32)  # so that it is seldom moved to the front
        self._end, self._heard = longest, -longest

    def newest(self, sound: Sound, count: int) -> Samples:
        """The last `count` samples in the band."""
        new = sound.heard - self._heard
        if new:
            self._add(sound, min(new, self._longest))
            self._heard = sound.heard
        return self._kept[self._end - count : self._end]

    def _add(self, sound: Sound, new: int) -> None:
        kept, end, longest = self._kept, self._end, self._longest
        if end + new > len(kept):
            kept[:longest] = kept[end - longest : end]
            end = longest
        kept[end : end + new] = np.correlate(sound.newest(new + TAPS - 1), self._kernel, "valid")
        self._end = end + new
