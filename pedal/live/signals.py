"""Signals as values: the main thread waits for them, nothing runs in a handler."""

from __future__ import annotations

import signal
from types import TracebackType

STOPS = (signal.SIGTERM, signal.SIGINT)
RELOADS = signal.SIGHUP


class Signals:
    """Within the `with`, SIGTERM, SIGINT and SIGHUP come out of `wait` and interrupt nothing.

    Threads started inside inherit that, so the signals stay with the waiting thread.
    """

    def __enter__(self) -> Signals:
        self._before = signal.pthread_sigmask(signal.SIG_BLOCK, {*STOPS, RELOADS})
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        # What came while nobody waited any more is spent, else it would end the program with a traceback.
        while signal.sigtimedwait({*STOPS, RELOADS}, 0) is not None:
            continue
        signal.pthread_sigmask(signal.SIG_SETMASK, self._before)

    def wait(self, timeout_s: float) -> int | None:
        """The next signal's number, waiting for at most `timeout_s`; None if none came."""
        come = signal.sigtimedwait({*STOPS, RELOADS}, timeout_s)
        return None if come is None else come.si_signo
