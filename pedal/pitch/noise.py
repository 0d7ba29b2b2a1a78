"""What silence sounds like: the spectrum of hiss and hum, learned while nothing is played."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from pedal.pitch.intake import Samples
from pedal.pitch.onset import SILENT_POWER

SIZE = 512
EVERY_TICKS = 24
"""Longer than the window is, so that a note that has just ended is not learned."""
REMEMBERS = 8
"""Spectra averaged."""


class Noise:
    """Power of silence around any frequency."""

    def __init__(self, rate_hz: float) -> None:
        self._window = np.hanning(SIZE).astype(np.float32)
        self._gain = 1.0 / float(np.sum(self._window**2))
        self._mean = np.full(SIZE // 2 + 1, SILENT_POWER)
        self._density: list[float] | None = None
        self._bins_a_hz = SIZE / rate_hz
        self._ticks = 0
        self._seen = 0

    def hear(self, newest: Callable[[int], Samples]) -> None:
        """One more tick of silence; `newest` gives the last inner samples."""
        self._ticks += 1
        if self._ticks < EVERY_TICKS:
            return
        self._ticks = 0
        self._seen = min(self._seen + 1, REMEMBERS)
        spectrum = np.fft.rfft(newest(SIZE) * self._window)
        power = (spectrum.real**2 + spectrum.imag**2) * self._gain
        beside = power.copy()  # a line of hum may stand between two bins, and a partial's window reaches far
        np.maximum(beside[1:], power[:-1], out=beside[1:])
        np.maximum(beside[:-1], power[1:], out=beside[:-1])
        self._mean += (beside - self._mean) / self._seen
        self._density = None

    def interrupted(self) -> None:
        """Something sounds: what is in the window is no silence for a while."""
        self._ticks = 0

    def density(self, hz: float) -> float:
        """Power a sample and a unit of bandwidth (a white noise of variance v has density v) around `hz`."""
        if self._density is None:
            self._density = self._mean.tolist()
        return self._density[int(hz * self._bins_a_hz + 0.5)]
