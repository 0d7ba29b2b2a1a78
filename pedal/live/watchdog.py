"""What the service manager is told: ready, still hearing, reloading, stopping.

One datagram to $NOTIFY_SOCKET (sd_notify(3), systemd); without a manager nothing happens. Never raises, never waits.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Mapping


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


def interval_s(*, environment: Mapping[str, str] = os.environ) -> float | None:
    """Seconds between two signs of life, half of what the manager allows; None if it does not watch this process."""
    allowed_us, watched = environment.get("WATCHDOG_USEC", ""), environment.get("WATCHDOG_PID", "")
    if not allowed_us.isdecimal() or (watched and watched != str(os.getpid())):
        return None
    return int(allowed_us) / 2e6
