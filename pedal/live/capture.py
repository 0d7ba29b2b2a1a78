"""Audio source -> bounded queue of blocks: one thread that does nothing else, and opens a lost source again."""

from __future__ import annotations

import dataclasses
import threading
import time
from collections.abc import Callable

import numpy as np

from pedal.errors import DeviceError
from pedal.live.arrivals import Arrivals
from pedal.ports import AudioSource, Block, StreamFacts
from pedal.values import frozen

QUEUE_BLOCKS = 768
"""Two seconds at the default block. The picture lags behind the hand meanwhile; what is dropped would be gone for good.

The end of the longest notes takes 30 to 90 ms on a desk's machine, ten times that on the slowest board.
"""
AHEAD_BLOCKS = 4
"""So far a take or a performance may run ahead of the hearing: its clock is the hearing's to 10 ms."""
BACK_OFF_LEAST_S, BACK_OFF_MOST_S = 0.1, 2.0


@frozen
class Began:
    """A stream began, after `missed_s` seconds without one (0.0 for the first)."""

    facts: StreamFacts
    missed_s: float = 0.0


@frozen
class Gone:
    """No sound comes; the sentence says why and what to do."""

    sentence: str


@frozen
class Over:
    """The take or the performance has ended."""


Arrival = Block | Began | Gone | Over


def joined(arrivals: list[Arrival]) -> list[Arrival]:
    """The same, with blocks that follow each other without a loss put together: a long one costs hardly more."""
    made: list[Arrival] = []
    run: list[Block] = []
    for arrival in arrivals:
        if isinstance(arrival, Block) and not (run and arrival.lost_samples):
            run.append(arrival)
            continue
        if run:
            made.append(_one_block(run))
            run = []
        if isinstance(arrival, Block):
            run.append(arrival)
        else:
            made.append(arrival)
    return [*made, _one_block(run)] if run else made


def _one_block(run: list[Block]) -> Block:
    first = run[0]
    if len(run) == 1:
        return first
    samples = np.concatenate([block.samples for block in run])
    return Block(samples, first.lost_samples, sum([block.overflows for block in run]))


class Capture:
    """Fills `arrivals`. When it is full a block of a device is dropped, counted, and told to the next one as lost.

    make_source : called for every attempt: a lost device never recovers in the source that lost it.
    live : False for a take or a performance, which waits for the hearing instead of dropping.
    keep_trying : go on looking for a device that was not there at the start.
    before_open, after_open : let other streams of the same library go, and come back.
    """

    def __init__(
        self,
        make_source: Callable[[], AudioSource],
        *,
        live: bool = True,
        keep_trying: bool = False,
        before_open: Callable[[], None] = lambda: None,
        after_open: Callable[[], None] = lambda: None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.arrivals: Arrivals[Arrival] = Arrivals(QUEUE_BLOCKS if live else AHEAD_BLOCKS)
        self.last_block_s = self.last_try_s = clock()
        self.seeking = False
        """True while there is no device: each attempt, and each end of one, is marked in `last_try_s`."""
        self.opening = False
        """True while a driver opens its device, which may take seconds."""
        self.dropped_blocks = 0
        self.live = live
        self._make_source, self._began = make_source, keep_trying
        self._before_open, self._after_open, self._clock = before_open, after_open, clock
        self._lost_samples = 0
        self._changed = False

    def reopen(self) -> None:
        """Another device was chosen: go on with what `make_source` makes now; from any thread."""
        self._changed = True

    def work(self, stop: threading.Event) -> None:
        """Read until told to stop or the take is over; raises DeviceError if there is no device at the start."""
        back_off_s = BACK_OFF_LEAST_S
        while not stop.is_set():
            self.last_try_s = self._clock()
            source = self._make_source()
            try:
                self._before_open()
                self.opening = True
                facts = source.open()
                self.opening = False
                missed_s = self._clock() - self.last_block_s if self.seeking else 0.0
                self._after_open()
                self._tell(Began(facts, missed_s), stop)
                self.last_block_s, self.seeking = self._clock(), False
                back_off_s, self._began = BACK_OFF_LEAST_S, True
                self._pump(source, stop)
                if not self._changed:
                    return
                self._changed, self.seeking = False, True
                continue
            except DeviceError as fault:
                self.opening = False
                if not self._began:
                    raise
                source.close()  # may hang with its driver, and then this is no seeking
                self.seeking = True
                self._tell(Gone(str(fault)), stop)
            except Exception:
                self.opening = False
                self.seeking = True  # what is missed until this is called again is told as lost
                raise
            finally:
                source.close()
            self.last_try_s = self._clock()
            stop.wait(back_off_s)
            back_off_s = min(2 * back_off_s, BACK_OFF_MOST_S)

    def _pump(self, source: AudioSource, stop: threading.Event) -> None:
        while not stop.is_set() and not self._changed:
            block = source.read()
            if block is None:
                self._tell(Over(), stop)
                return
            self.last_block_s = self._clock()
            if self.live:
                self._put_or_drop(block)
            else:
                self.arrivals.put(block, stop)

    def _tell(self, arrival: Arrival, stop: threading.Event) -> None:
        self.arrivals.put(arrival, stop)
        self.arrivals.ring()

    def _put_or_drop(self, block: Block) -> None:
        if self._lost_samples:
            block = dataclasses.replace(block, lost_samples=block.lost_samples + self._lost_samples)
        if self.arrivals.offer(block):
            self._lost_samples = 0
        else:
            self.dropped_blocks += 1
            self._lost_samples = block.lost_samples + len(block.samples)
