"""The bounded hand-over from the capturing thread to the hearing one: every block goes this way."""

from __future__ import annotations

import contextlib
import queue
import threading
from typing import Generic, TypeVar

T = TypeVar("T")
_STOP_CHECK_S = 0.1


class Arrivals(Generic[T]):
    """One thread puts, one takes. `queue.Queue` would do, at three times the time a block.

    The taker may wait for the next thing (`get`), or rest until a bell rings and then take `all_now`: being woken for
    every block costs more than judging it.
    """

    def __init__(self, most: int) -> None:
        self._things: queue.SimpleQueue[T] = queue.SimpleQueue()
        self._most = most
        self._room = threading.Semaphore(0)
        self._waiting = False
        self._bell: queue.SimpleQueue[None] = queue.SimpleQueue()

    def offer(self, thing: T) -> bool:
        """Put a thing in, if there is room; False if there is none. Rings while it is a quarter full."""
        there = self._things.qsize()
        if there >= self._most:
            return False
        self._things.put(thing)
        if there >= self._most // 4:
            self.ring()
        return True

    def put(self, thing: T, stop: threading.Event) -> None:
        """Put a thing in, waiting for room until told to stop."""
        while not self.offer(thing) and not stop.is_set():
            self._waiting = True
            self._room.acquire(timeout=_STOP_CHECK_S)

    def get(self, timeout_s: float) -> T | None:
        """The next thing, waiting for at most `timeout_s`; None if none came."""
        try:
            thing = self._things.get(timeout=timeout_s)
        except queue.Empty:
            return None
        if self._waiting:
            self._waiting = False
            self._room.release()
        return thing

    def all_now(self) -> list[T]:
        """What is there now, without waiting."""
        return [self._things.get() for _ in range(self._things.qsize())]

    def rest(self, timeout_s: float) -> None:
        """Sleep until the bell rings, for at most `timeout_s`."""
        if timeout_s > 0.0:
            with contextlib.suppress(queue.Empty):
                self._bell.get(timeout=timeout_s)

    def ring(self) -> None:
        """Something does not bear waiting; from any thread."""
        if self._bell.empty():
            self._bell.put(None)

    def empty(self) -> bool:
        """Whether nothing waits."""
        return self._things.empty()
