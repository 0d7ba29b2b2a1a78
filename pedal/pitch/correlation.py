"""One window of samples -> how alike it is to itself at every lag."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


class Correlation:
    """Normalised square-difference function of windows up to `longest` samples; scratch is allocated once."""

    def __init__(self, longest: int) -> None:
        self._size = 1 << (2 * longest - 1).bit_length()
        self._energy = np.zeros(longest + 1, np.float32)
        self._likeness = np.zeros(longest + 1, np.float32)

    def likeness(self, window: NDArray[np.float32], lags: int) -> NDArray[np.float32]:
        """1 - d(lag) / m(lag) for lag = 0 .. lags: 1 where the window repeats itself exactly.

        Parameters
        ----------
        window : float32 array, at most `longest` samples
        lags : int, < len(window)

        Returns
        -------
        likeness : float32 array of lags + 1, in [-1, 1]; overwritten by the next call

        Notes
        -----
        Source: P. McLeod, G. Wyvill, "A smarter way to find pitch", ICMC 2005: n(lag) = 2 r(lag) / m(lag).
        """
        n = len(window)
        spectrum = np.fft.rfft(window, self._size)
        power = spectrum.real**2 + spectrum.imag**2
        r = np.fft.irfft(power, self._size)[: lags + 1]
        energy = self._energy[: n + 1]
        np.cumsum(window * window, out=energy[1:])
        m = energy[n - lags : n + 1][::-1] + (energy[n] - energy[: lags + 1])
        np.maximum(m, 1e-12, out=m)
        return np.divide(2 * r, m, out=self._likeness[: lags + 1], casting="same_kind")
