"""A mailbox of one: the newest thing wins, because an old frame has no value."""

from __future__ import annotations

import threading
from typing import Generic, TypeVar

T = TypeVar("T")


class Mailbox(Generic[T]):
    """Hands the newest thing from one thread to another; posting never waits."""

    def __init__(self) -> None:
        self._something = threading.Condition()
        self._newest: T | None = None

    def post(self, thing: T) -> None:
        """Put a thing in, over whatever lay there."""
        with self._something:
            self._newest = thing
            self._something.notify()

    def take(self, timeout_s: float) -> T | None:
        """The newest thing, waiting for one for at most `timeout_s`; None if none came."""
        with self._something:
            if self._newest is None:
                self._something.wait(timeout_s)
            newest, self._newest = self._newest, None
            return newest
