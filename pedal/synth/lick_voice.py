"""The drone and a lick over it -> one output that never exceeds the ceiling."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pedal.theory.pulse import Pulse

DUCKED = 0.5
"""The drone steps back to half while a lick plays, and a lick never has more than the other half of the ceiling."""
RAMP_S = 0.1
"""Shorter than the silence that a lick begins and ends with."""


class Inner(Protocol):
    """What sounds under a lick: a drone or a pulse, rendered block by block."""

    @property
    def silent(self) -> bool:
        """Whether nothing sounds and nothing is ordered."""

    def sound(self, hz: tuple[float, ...], level_db: float) -> None:
        """Sound these notes, so loud, from the next block on."""

    def follow(self, pulse: Pulse, level_db: float) -> None:
        """Play this pulse, so loud, from its count-in on; the same one goes on."""

    @property
    def beat_zero(self) -> int | None:
        """The sample on which the pulse's first beat falls, counted as `rendered`; None while none sounds."""

    @property
    def rendered(self) -> int:
        """Samples so far."""

    def render(self, samples: int) -> NDArray[np.float32]:
        """The next samples."""


class LickVoice:
    """A drone that can play a lick once: `.play(samples)`; an empty one stops.

    peak_db : the ceiling; `samples` are drawn down to half of it where they are louder.
    """

    def __init__(self, drone: Inner, sample_rate: int, *, peak_db: float) -> None:
        self._drone = drone
        self._most = DUCKED * 10 ** (peak_db / 20)
        self._step = (1.0 - DUCKED) / (RAMP_S * sample_rate)
        self._fade = max(1, round(0.02 * sample_rate))
        self._lick = np.zeros(0, np.float32)
        self._at = 0
        self._gain = 1.0

    @property
    def silent(self) -> bool:
        """Whether neither sounds and nothing is ordered."""
        return self._drone.silent and self._at >= len(self._lick)

    def sound(self, hz: tuple[float, ...], level_db: float) -> None:
        """The drone's order."""
        self._drone.sound(hz, level_db)

    def follow(self, pulse: Pulse, level_db: float) -> None:
        """The order of a pulse in the drone's place."""
        self._drone.follow(pulse, level_db)

    @property
    def beat_zero(self) -> int | None:
        """The sample of the pulse's first beat, counted as `rendered`; None while none sounds."""
        return self._drone.beat_zero

    @property
    def rendered(self) -> int:
        """Samples so far."""
        return self._drone.rendered

    def play(self, samples: NDArray[np.float32]) -> None:
        """Begin a lick, mono samples, in place of one that plays; with none of them what plays fades out over 20 ms."""
        if len(samples) == 0:
            left = self._lick[self._at : self._at + self._fade].copy()
            samples = left * np.linspace(1.0, 0.0, len(left), dtype=np.float32)
        loudest = float(np.max(np.abs(samples), initial=0.0))
        if loudest > self._most:
            samples = samples * np.float32(self._most / loudest)
        self._lick, self._at = samples, 0

    def render(self, samples: int) -> NDArray[np.float32]:
        """The next samples of both."""
        lick, at = self._lick, self._at
        part = lick[at : at + samples]
        self._at = at + len(part)
        out = self._drone.render(samples)
        aim = DUCKED if len(part) else 1.0
        if aim != self._gain or aim != 1.0:
            way = np.arange(1, samples + 1) * (self._step if aim > self._gain else -self._step)
            gains = np.clip(self._gain + way, min(self._gain, aim), max(self._gain, aim))
            self._gain = float(gains[-1])
            out = (out * gains).astype(np.float32)
        if len(part):
            out = out.copy()
            out[: len(part)] += part
        return out
