"""A scene: a piece of music, the feet that go with it, and the pedal it is played on. Rendered as it is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.synth.score import PLAIN_GUITAR, Guitar, Stroke, play
from pedal.theory.scale import Key


@dataclass(frozen=True, slots=True)
class Footstep:
    """At `at_s` the player's foot asks for an action, named as in the action map of the settings."""

    at_s: float
    action: str


@dataclass(frozen=True, slots=True)
class Scene:
    """What `undertoe demo` plays.

    mode : the mode it is meant for.
    position : the position it moves in, where the mode has one.
    strokes : in order of time, each with what a fair judge says of it.
    footsteps : in order of time.
    """

    mode: str
    key: Key
    strokes: tuple[Stroke, ...]
    length_s: float
    position: int = 1
    footsteps: tuple[Footstep, ...] = ()
    guitar: Guitar = PLAIN_GUITAR

    def blocks(
        self, *, sample_rate: int, block_samples: int, rng: np.random.Generator
    ) -> Iterator[NDArray[np.float32]]:
        """The scene in float32 blocks of exactly `block_samples` (the last is filled up with silence).

        Each stroke is rendered when its first block is asked for, so the first sound is there at once.
        """
        waiting = np.zeros(0, np.float32)
        for stretch in play(self.strokes, self.guitar, sample_rate=sample_rate, length_s=self.length_s, rng=rng):
            waiting = np.concatenate([waiting, stretch])
            whole = len(waiting) // block_samples * block_samples
            yield from waiting[:whole].reshape(-1, block_samples)
            waiting = waiting[whole:]
        if len(waiting):
            yield np.pad(waiting, (0, block_samples - len(waiting)))

    def samples(self, *, sample_rate: int, rng: np.random.Generator) -> NDArray[np.float32]:
        """The whole scene at once, mono samples at `sample_rate` hertz."""
        stretches = play(self.strokes, self.guitar, sample_rate=sample_rate, length_s=self.length_s, rng=rng)
        return np.concatenate(list(stretches))
