"""The newest samples against the past -> how alike they are at every lag."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


TAPS = 14
CUTOFF_HZ = 1500.0
"""What is above says little about the period and much about the pick; the difference takes out the thump below it."""


class Correlation:
    """Likeness of a template of the newest samples to what was heard `lag` before; scratch is allocated once."""

    def __init__(self, longest: int, rate_hz: float) -> None:
        self._energy = np.zeros(longest + 1, np.float64)
        self._likeness = np.zeros(longest + 1, np.float32)
        at = np.arange(TAPS - 1) - (TAPS - 2) / 2
        low_pass = np.sinc(2 * CUTOFF_HZ / rate_hz * at) * np.kaiser(TAPS - 1, 3.0)
        self._kernel = np.convolve(low_pass / low_pass.sum(), [1.0, -1.0]).astype(np.float32)

    def likeness(self, history: NDArray[np.float32], template: int, shortest: int, longest: int) -> NDArray[np.float32]:
        """2 x(t) x(t - lag) / (x(t)^2 + x(t - lag)^2), summed over the template, for lag = shortest .. longest."""
        count = longest - shortest + 1
        smooth = np.correlate(history[len(history) - longest - template - TAPS + 1 :], self._kernel, "valid")
        past = smooth[: len(smooth) - shortest]
        newest = smooth[len(smooth) - template :]
        r = np.correlate(past, newest, "valid")[::-1]
        energy = self._energy[: len(past) + 1]
        np.cumsum(past * past, out=energy[1:])
        m = (energy[template:] - energy[:count])[::-1] + (float(newest.dot(newest)) + 1e-12)
        return np.divide(2 * r, m, out=self._likeness[:count], casting="same_kind")
