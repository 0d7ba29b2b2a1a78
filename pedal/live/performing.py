"""A built-in performance as an audio source: rendered as it is asked for, and paced by the clock like a device.

A scene is played from its score; a Round is played by a made-up player who looks at what is asked, as a person would.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from pedal.ports import Block, StreamFacts
from pedal.practice.item import Item
from pedal.synth.player import MadeUpPlayer
from pedal.synth.scene import Scene
from pedal.synth.score import PLAIN_GUITAR, play

SAMPLE_RATE, BLOCK_SAMPLES = 48_000, 512
"""Three blocks to a frame: of shorter ones a fast demo spends more on handing them on than on hearing them."""
BREATH_S = 1.3
"""From the end of a note to the next: the verdict is read, and what is asked then."""
LOOK_S = 0.25
LEAVE_AFTER_S = 16.0
"""After the end: each of the three lines is seen once."""
_SEED = 12


class Performance:
    """Blocks of sound from the first to the last.

    blocks : makes them anew at each `open`: mono arrays of `BLOCK_SAMPLES`, at `SAMPLE_RATE`.
    paced : a block comes when its time has come, not as fast as it is asked for.
    """

    def __init__(
        self,
        blocks: Callable[[], Iterator[NDArray[np.float32]]],
        *,
        paced: bool,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._begin, self._paced, self._clock, self._sleep = blocks, paced, clock, sleep
        self._blocks: Iterator[NDArray[np.float32]] = iter(())
        self._begun_s = 0.0
        self._given = 0

    def now_s(self) -> float:
        """The clock of the performance: the wall's where it is paced, else how much of it was played."""
        return self._clock() if self._paced else self._given / SAMPLE_RATE

    def open(self) -> StreamFacts:
        """Begin from the first block, and let its clock run; says what the stream is."""
        self._blocks = self._begin()
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
        """Drop what was not played; may be called twice."""
        self._blocks = iter(())


def blocks_of(scene: Scene) -> Callable[[], Iterator[NDArray[np.float32]]]:
    """Blocks of samples of a scene, the same each time: its pick noise has a fixed seed."""
    return lambda: scene.blocks(sample_rate=SAMPLE_RATE, block_samples=BLOCK_SAMPLES, rng=np.random.default_rng(_SEED))


def blocks_by_asking(
    player: MadeUpPlayer, asked: Callable[[], Item | str | None]
) -> Callable[[], Iterator[NDArray[np.float32]]]:
    """A player who plays what is asked, waits in a rest, and goes some seconds after the end; blocks of samples."""
    return lambda: _by_asking(player, asked)


def _by_asking(player: MadeUpPlayer, asked: Callable[[], Item | str | None]) -> Iterator[NDArray[np.float32]]:
    rng = np.random.default_rng(_SEED)
    waiting, silent_s = np.zeros(0, np.float32), 0.0
    while silent_s < LEAVE_AFTER_S:
        what = asked()
        silent_s = silent_s + LOOK_S if what == "end" else 0.0
        strokes = (player.stroke(0.0, what.part, what.string, what.fret),) if isinstance(what, Item) else ()
        length_s = strokes[0].end_s + BREATH_S if strokes else LOOK_S
        phrase = play(strokes, PLAIN_GUITAR, sample_rate=SAMPLE_RATE, length_s=length_s, rng=rng)
        waiting = np.concatenate([waiting, *phrase])
        whole = len(waiting) // BLOCK_SAMPLES * BLOCK_SAMPLES
        yield from waiting[:whole].reshape(-1, BLOCK_SAMPLES)
        waiting = waiting[whole:]
