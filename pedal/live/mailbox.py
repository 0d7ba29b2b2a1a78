"""A mailbox of one: the newest thing wins, because an old frame has no value."""

from __future__ import annotations

import threading
from typing import Generic, TypeVar

T = TypeVar("T")


class Mailbox(Generic[T]):
    """Hands the newest thing from one thread to another; posting does not wait.

    patience_s : wait this long for the thing before to be taken, for a film of what runs faster than time.
    """

    def __init__(self, *, patience_s: float = 0.0) -> None:
        self._something = threading.Condition()
        self._newest: T | None = None
        self._patience_s = patience_s

    def post(self, thing: T) -> None:
        """Put a thing in, over whatever lies there."""
        with self._something:
            if self._patience_s:
                self._something.wait_for(lambda: self._newest is None, self._patience_s)
            self._newest = thing
            self._something.notify_all()

    def take(self, timeout_s: float) -> T | None:
        """The newest thing, waiting for one for at most `timeout_s`; None if none came."""
        with self._something:
            if self._newest is None:
                self._something.wait(timeout_s)
            newest, self._newest = self._newest, None
            if self._patience_s:
                self._something.notify_all()
            return newest
