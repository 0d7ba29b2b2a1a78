"""Orders -> the sound of the drone: sustained notes to bend against, that never click and never jump in level.

Every chord is a layer that fades in while the older ones fade out, each along a raised cosine of its own. The shares of
all layers never add up to more than one, so the peak stays under the level whatever is ordered, and when; a change of
level is a fade of its own over all of them.
"""

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


DEFAULT_PEAK_DB = -18.0
"""Quiet by default. At 85 dB(A) the ear has eight hours, half of that for each 3 dB more (NIOSH 98-126)."""
SILENT_DB, LOUDEST_DB = -60.0, 0.0
START_S, CHANGE_S, HUSH_S = 0.6, 0.25, 0.3
MOST_NOTES, MOST_LAYERS = 6, 4
LOWEST_HZ = 20.0


class Drone:
    """A sustained chord. `.sound(hz, level_db)` and `.hush()` order, `.render(n)` gives the next samples.

    Parameters
    ----------
    sample_rate : int
        Samples a second.
    peak_db : float
        No sample is ever above this, dBFS; from `SILENT_DB` to `LOUDEST_DB`.

    Raises
    ------
    ValueError
        If the level is out of range.

    Notes
    -----
    Harmonics fall off gently, so that a string beats with the drone audibly: 25 cents off against G4 the fundamentals
    beat 5.7 times a second, the second harmonics twice as fast (difference of frequencies).
    """

    def __init__(self, sample_rate: int, *, peak_db: float = DEFAULT_PEAK_DB) -> None:
        if not SILENT_DB <= peak_db <= LOUDEST_DB:
            raise ValueError(f"the drone's level must be {SILENT_DB:g} to {LOUDEST_DB:g} dBFS, got {peak_db:g}")
        self._rate = sample_rate
        self._peak = 10 ** (peak_db / 20)
        self._layers: list[Layer] = []
        self._loudness = Fade(1.0, sample_rate)
        self._wanted: tuple[Layer, float] | None = None
        self._rendered = 0

    def sound(self, hz: tuple[float, ...], level_db: float = LOUDEST_DB) -> None:
        """Sound these notes from the next block on (an empty tuple: silence); what sounds now fades out meanwhile.

        level_db : how loud, dBFS; what is louder than `peak_db` is as loud as that.

        May be called from another thread than `render`: the chord is made ready here, and `render` only takes it up.

        Raises
        ------
        ValueError
            If there are more than `MOST_NOTES` notes, or one is below 20 Hz or above a tenth of the sample rate.
        """
        if len(hz) > MOST_NOTES:
            raise ValueError(f"the drone has at most {MOST_NOTES} notes, got {len(hz)}")
        for note in hz:
            if not LOWEST_HZ <= note <= self._rate / 10:
                raise ValueError(f"a note of the drone must be {LOWEST_HZ:g} to {self._rate / 10:g} Hz, got {note} Hz")
        if not SILENT_DB <= level_db <= LOUDEST_DB:
            raise ValueError(f"the drone's level must be {SILENT_DB:g} to {LOUDEST_DB:g} dBFS, got {level_db:g}")
        share = min(1.0, 10 ** (level_db / 20) / self._peak)
        if not hz:
            self._wanted = None
            return
        before = self._wanted
        # An order is said ten times a second for as long as it stands, and a chord takes milliseconds to make.
        chord = before[0] if before is not None and before[0].hz == hz else Layer(hz, self._rate)
        self._wanted = (chord, share)

    def hush(self) -> None:
        """Fade to silence."""
        self._wanted = None

    @property
    def silent(self) -> bool:
        """True when nothing sounds, nothing is still fading, and nothing is ordered."""
        return not self._layers and self._wanted is None

    def render(self, samples: int) -> NDArray[np.float32]:
        """The next float32 samples, shape (samples,), none of them above the level."""
        out = np.zeros(samples, np.float32)
        for start in range(0, samples, CHUNK_SAMPLES):
            self._obey()
            length = min(CHUNK_SAMPLES, samples - start)
            if self._layers:
                out[start : start + length] = self._mix(length)
            self._rendered += length
        return out

    def _obey(self) -> None:
        """Turn the newest order into fades. One that finds too many chords still fading waits until there is room."""
        wanted = self._wanted  # read once: an order may arrive at any time
        if wanted is None:
            self._fade_out(None, HUSH_S)
            return
        chord, share = wanted
        if self._layers:
            self._loudness.to(share, CHANGE_S)
        else:
            self._loudness = Fade(share, self._rate)
        playing = next((layer for layer in self._layers if layer.hz == chord.hz), None)
        if playing is None:
            if len(self._layers) >= MOST_LAYERS:
                return
            playing = chord
            self._layers.append(playing)
        playing.fade.to(1.0, START_S if len(self._layers) == 1 else CHANGE_S)
        self._fade_out(playing, CHANGE_S)

    def _fade_out(self, spared: Layer | None, seconds: float) -> None:
        for layer in self._layers:
            if layer is not spared:
                layer.fade.to(0.0, seconds)

    def _mix(self, samples: int) -> NDArray[np.float64]:
        shares = [layer.fade.shares(samples) for layer in self._layers]
        # Orders in quick succession leave several chords rising and falling at once: they share one whole.
        crowding = np.maximum(1.0, np.sum(shares, axis=0))
        mixed = np.zeros(samples)
        for layer, share in zip(self._layers, shares, strict=True):
            mixed += layer.wave(self._rendered, samples) * (share / crowding)
        self._layers = [layer for layer in self._layers if not layer.fade.over]
        return mixed * self._peak * self._loudness.shares(samples)
