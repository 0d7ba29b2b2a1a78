"""What pin libraries raise -> one sentence: lgpio's own class is a bare `Exception`, and gpiozero lets it through."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from pedal.errors import DeviceError

GET_ONE = (
    "end another program that uses it, join the group gpio, and see `undertoe doctor` on the pin library of this system"
)


@contextlib.contextmanager
def told(what: str, remedy: str) -> Iterator[None]:
    """Raise `DeviceError("WHAT (the library's words): REMEDY")` for whatever a pin library raises inside."""
    try:
        yield
    except DeviceError:
        raise
    except Exception as fault:
        raise DeviceError(f"{what} ({words_of(fault)}): {remedy}") from fault


@contextlib.contextmanager
def ignored() -> Iterator[None]:
    """For letting go: a pin that is gone has been let go of."""
    with contextlib.suppress(Exception):
        yield


def words_of(fault: Exception) -> str:
    """The first line of what a pin library says; its class where it says nothing."""
    lines = str(fault).splitlines()
    return lines[0] if lines and lines[0] else type(fault).__name__
