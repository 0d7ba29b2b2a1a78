"""One chord of the drone: its waveform, bounded by one, and its share of the sound as it fades in or out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.theory.voice import chord_partials

CHUNK_SAMPLES = 256


class Fade:
    """A share from 0 to 1 that moves along raised cosines, and from wherever it is when another one is wanted."""

    def __init__(self, share: float, sample_rate: int) -> None:
        self._rate = sample_rate
        self._share = self._from = self._to = share
        self._done, self._length = 0, 1

    @property
    def over(self) -> bool:
        """True when it has come to nothing and will stay so."""
        return self._to == 0.0 and self._done >= self._length

    def to(self, share: float, seconds: float) -> None:
        """From the present share to another."""
        if share != self._to:
            self._from, self._to = self._share, share
            self._done, self._length = 0, max(1, round(seconds * self._rate))

    def shares(self, samples: int) -> NDArray[np.float64]:
        """The share at each of the next samples."""
        gone = np.minimum(1.0, (self._done + 1 + np.arange(samples)) / self._length)
        shares = self._from + (self._to - self._from) * (0.5 - 0.5 * np.cos(np.pi * gone))
        self._done = min(self._done + samples, self._length)
        self._share = float(shares[-1])
        return np.asarray(shares)


class Layer:
    """A chord that sounds with a share from 0 to 1.

    Phases follow from the time alone, so notes that two chords have in common run on through a change of chord.
    """

    def __init__(self, hz: tuple[float, ...], sample_rate: int) -> None:
        self.hz = hz
        self.fade = Fade(0.0, sample_rate)
        partials = chord_partials(hz, highest_hz=0.45 * sample_rate)
        self._weights, self._first_turns = partials.weights, partials.first_turns
        self._turns_a_sample = partials.hz / sample_rate
        radians = 2 * np.pi * np.outer(self._turns_a_sample, np.arange(CHUNK_SAMPLES))
        self._cosines, self._sines = np.cos(radians), np.sin(radians)

    def wave(self, start: int, samples: int) -> NDArray[np.float64]:
        """Samples `start` to `start + samples` of the chord at full share, each within -1 to 1; at most a chunk."""
        # Angle addition: two small matrix products in place of a sine a partial and sample.
        radians = 2 * np.pi * ((self._first_turns + self._turns_a_sample * start) % 1.0)
        sines = (self._weights * np.sin(radians)) @ self._cosines[:, :samples]
        cosines = (self._weights * np.cos(radians)) @ self._sines[:, :samples]
        return np.asarray(sines + cosines)
