"""What the service manager says and is told: signals as values, and ready, still hearing, reloading, stopping.

Told by one datagram to $NOTIFY_SOCKET (sd_notify(3), systemd); without a manager nothing happens. Never raises, never
waits.
"""

from __future__ import annotations

import os
import signal
import socket
from collections.abc import Mapping
from types import TracebackType


def notify(state: str, *, environment: Mapping[str, str] = os.environ) -> bool:
    """Send a state such as "READY=1"; True if the manager's socket took it."""
    address = environment.get("NOTIFY_SOCKET", "")
    if not address:
        return False
    if address.startswith("@"):  # the abstract namespace
        address = "\0" + address[1:]
    kind = socket.SOCK_DGRAM | socket.SOCK_CLOEXEC | socket.SOCK_NONBLOCK
    try:
        with socket.socket(socket.AF_UNIX, kind) as pipe:
            pipe.connect(address)
            pipe.send(state.encode())
    except OSError:
        return False
    return True


def ready() -> None:
    """The pedal is up: it hears, or looks for its input by itself."""
    notify("READY=1")


def alive() -> None:
    """A sign of life, for the watchdog."""
    notify("WATCHDOG=1")


def interval_s(*, environment: Mapping[str, str] = os.environ) -> float | None:
    """The longest that should pass between two signs of life, half of what the manager allows, in seconds.

    The loop gives one twice as often. None if the manager does not watch this process.
    """
    allowed_us, watched = environment.get("WATCHDOG_USEC", ""), environment.get("WATCHDOG_PID", "")
    if not allowed_us.isdecimal() or (watched and watched != str(os.getpid())):
        return None
    return int(allowed_us) / 2e6


STOPS = (signal.SIGTERM, signal.SIGINT)
RELOADS = signal.SIGHUP


class Signals:
    """Within the `with`, SIGTERM, SIGINT and SIGHUP come out of `wait` and interrupt nothing.

    Threads started inside inherit that, so the signals stay with the waiting thread. SIGHUP asks for new settings;
    where it says that the terminal was closed in which all began, it comes out as SIGTERM.
    """

    def __enter__(self) -> Signals:
        self._in_terminal = _has_terminal()
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
        if come is None:
            return None
        closed = come.si_signo == RELOADS and self._in_terminal and not _has_terminal()
        return signal.SIGTERM if closed else come.si_signo


def _has_terminal() -> bool:
    """Whether this process belongs to a terminal (tty(4)); a service never does."""
    try:
        os.close(os.open("/dev/tty", os.O_RDWR | os.O_NOCTTY | os.O_CLOEXEC))
    except OSError:
        return False
    return True
