"""The newest samples against the past -> how alike they are at every lag."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from pedal.pitch.band import Band, Sound
from pedal.pitch.intake import Samples

READER_TAPS = 12
READINGS_A_SAMPLE = 16
SHORTEST_LAG = READER_TAPS // 2
"""A shorter one cannot be read back: its reader would want samples that are not there yet."""


class Correlation:
    """Likeness of a template of the newest samples to what was heard before; scratch is allocated once."""

    def __init__(self, longest: int, rate_hz: float, cutoff_hz: float) -> None:
        self._each, self._energy = np.zeros(longest), np.zeros(longest + 1)
        self._band = Band(cutoff_hz, rate_hz, longest)

    def nsdf(self, sound: Sound, template: int, shortest: int, longest: int) -> Samples:
        """2 x(t) x(t - lag) / (x(t)^2 + x(t - lag)^2), summed over the template, at lag = shortest .. longest.

        Parameters
        ----------
        sound
            What was heard, at least longest + template + `TAPS` samples of it.
        template, shortest, longest : int
            Samples; together at most the `longest` of the constructor.

        Returns
        -------
        likeness : float32 array of longest - shortest + 1
            -1 to 1; 1 where the template repeats what was heard.

        Notes
        -----
        The normalisation is that of P. McLeod and G. Wyvill, "A smarter way to find pitch", ICMC 2005.
        """
        count = longest - shortest + 1
        band = self._band.newest(sound, longest + template)
        past, newest = band[: len(band) - shortest], band[len(band) - template :]
        both = np.correlate(past, newest, "valid")[::-1]
        energy = self._energy[: len(past) + 1]
        each = self._each[: len(past)]
        each[:] = past * past  # squared as they are, summed in double precision
        each.cumsum(out=energy[1:])
        each = (energy[template:] - energy[:count])[::-1] + (float(newest.dot(newest)) + 1e-12)
        nsdf: Samples = (2 * both / each).astype(np.float32)
        return nsdf


def alike(history: Samples, lag: float, newest: Samples, energy: float) -> float:
    """Likeness of the newest samples of a history, unfiltered, to those `lag` samples before, read between the samples.

    energy : the sum of the newest samples' squares; who looks at several lags works it out once.
    """
    past = read_back(history, lag, len(newest))
    return 2.0 * float(newest.dot(past)) / (energy + float(past.dot(past)) + 1e-12)


def alike_near(history: Samples, shortest: int, longest: int, window: int) -> Samples:
    """Likeness of the newest `window` samples to those before, at each whole lag from `shortest` to `longest`."""
    newest = history[len(history) - window :]
    past = history[len(history) - longest - window : len(history) - shortest]
    both = np.correlate(past, newest, "valid")[::-1]
    energy = np.concatenate([[0.0], np.cumsum(past * past, dtype=np.float64)])
    each = (energy[window:] - energy[: len(energy) - window])[::-1] + float(newest.dot(newest))
    nsdf: Samples = (2.0 * both / (each + 1e-12)).astype(np.float32)
    return nsdf


def read_back(history: Samples, lag: float, window: int) -> Samples:
    """`window` samples that end `lag` (more than `READER_TAPS` / 2) samples before the newest, read between them."""
    stretch, reader = _stretch(history, lag, window)
    (step,) = stretch.strides
    # A row a tap: their weighed sum takes half of what a convolution does, which begins anew for each sample.
    shifted = np.ndarray((READER_TAPS, window), np.float32, stretch, 0, (step, step))
    past: Samples = _READERS[reader].dot(shifted)
    return past


class ReadBack:
    """`read_back` for one short window, made ready: a product takes a fifth of the time of a convolution so short."""

    def __init__(self, window: int) -> None:
        self._window, self._matrices = window, _matrices(window)

    def read(self, before: Callable[[int, int], Samples], lag: float) -> Samples:
        """The same as `read_back` gives; `before` gives what ends so many samples ago, and is so many long."""
        whole = int(lag)
        stretch = before(whole + 1 - SHORTEST_LAG, self._window + READER_TAPS - 1)
        past: Samples = stretch.dot(self._matrices[int((lag - whole) * READINGS_A_SAMPLE)])
        return past


def _stretch(history: Samples, lag: float, window: int) -> tuple[Samples, int]:
    """The samples that are needed to read a window back, and the number of the reader for the part of a sample."""
    whole = int(lag)
    end = len(history) - whole + READER_TAPS // 2 - 1
    return history[end - window - READER_TAPS + 1 : end], int((lag - whole) * READINGS_A_SAMPLE)


@lru_cache(maxsize=8)
def _matrices(window: int) -> tuple[Samples, ...]:
    """The readers as matrices of shape (window + taps - 1, window)."""
    matrices = []
    for reader in _READERS:
        matrix = np.zeros((window + READER_TAPS - 1, window), np.float32)
        for column in range(window):
            matrix[column : column + READER_TAPS, column] = reader
        matrices.append(matrix)
    return tuple(matrices)


def _readers() -> tuple[Samples, ...]:
    """Windowed sincs that read part of a sample further back, one for the middle of each sixteenth."""
    parts = (np.arange(READINGS_A_SAMPLE)[:, np.newaxis] + 0.5) / READINGS_A_SAMPLE
    kernels = np.sinc(np.arange(READER_TAPS) - READER_TAPS // 2 + parts) * np.kaiser(READER_TAPS, 5.0)
    return tuple((kernels / kernels.sum(axis=1, keepdims=True)).astype(np.float32))


_READERS = _readers()
