"""A built-in performance as an audio source: rendered as it is asked for, and paced by the clock like a device."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from pedal.ports import Block, StreamFacts
from pedal.synth.scene import Scene

SAMPLE_RATE, BLOCK_SAMPLES = 48_000, 128
_SEED = 12
"""The same performance every time: its pick noise comes from a generator with a fixed seed."""


class Performance:
    """One scene from its first block to its last. With `paced` a block comes when its time has come."""

    def __init__(
        self,
        scene: Scene,
        *,
        paced: bool,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._scene, self._paced, self._clock, self._sleep = scene, paced, clock, sleep
        self._blocks: Iterator[NDArray[np.float32]] = iter(())
        self._begun_s = 0.0
        self._given = 0

    def now_s(self) -> float:
        """The clock of the performance: the wall's where it is paced, else how much of it was played."""
        return self._clock() if self._paced else self._given / SAMPLE_RATE

    def open(self) -> StreamFacts:
        """Begin the performance."""
        rng = np.random.default_rng(_SEED)
        self._blocks = self._scene.blocks(sample_rate=SAMPLE_RATE, block_samples=BLOCK_SAMPLES, rng=rng)
        self._begun_s, self._given = self._clock(), 0
        return StreamFacts("the built-in performance", SAMPLE_RATE, BLOCK_SAMPLES, 1)

    def read(self) -> Block | None:
        """The next block, once it would have been played; None at the end."""
        samples = next(self._blocks, None)
        if samples is None:
            return None
        self._given += len(samples)
        if self._paced:
            # Against the start, not the last block: lateness does not add up.
            early_s = self._begun_s + self._given / SAMPLE_RATE - self._clock()
            if early_s > 0:
                self._sleep(early_s)
        return Block(samples)

    def close(self) -> None:
        """End it."""
        self._blocks = iter(())
