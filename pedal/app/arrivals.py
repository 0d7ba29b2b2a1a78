"""The bounded hand-over from the capturing thread to the hearing one: every block goes this way."""

from __future__ import annotations

import queue
import threading
from typing import Generic, TypeVar

T = TypeVar("T")
_STOP_CHECK_S = 0.1


class Arrivals(Generic[T]):
    """One thread puts, one takes. `queue.Queue` would do, at three times the time a block."""

    def __init__(self, most: int) -> None:
        self._things: queue.SimpleQueue[T] = queue.SimpleQueue()
        self._most = most
        self._room = threading.Semaphore(0)
        self._waiting = False

    def offer(self, thing: T) -> bool:
        """Put a thing in, if there is room; False if there is none."""
        if self._things.qsize() >= self._most:
            return False
        self._things.put(thing)
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

    def empty(self) -> bool:
        """Whether nothing waits."""
        return self._things.empty()
