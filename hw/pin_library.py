"""The pin library that gpiozero is to use: the one asked for in the environment, else the first that works here.

What pin libraries raise becomes one sentence: lgpio's own class is a bare `Exception`, and gpiozero lets it through.
"""

from __future__ import annotations

import contextlib
import os
import platform
import sys
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

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


_ASKED = "GPIOZERO_PIN_FACTORY"
_ORDER = ("lgpio", "rpigpio", "native")
"""gpiozero's own, without pigpio, which needs a server of its own."""
_LAST_WHEEL = (3, 12)
"""lgpio 0.2.2.0 has wheels for arm64 up to this Python on the index (looked up); its source needs a library of its
own."""


def pin_factory() -> Any:
    """The factory of gpiozero, made once; raises DeviceError with what each library said, and a remedy for this system.

    gpiozero itself tries one library alone where one is named, as the service names lgpio; it does not go on to the
    next.
    """
    from gpiozero import Device  # only for pins: it takes longer to load than the first picture to draw

    if Device.pin_factory is not None:
        return Device.pin_factory
    asked = os.environ.get(_ASKED)
    told = []
    for name in dict.fromkeys([*([asked] if asked else []), *_ORDER]):
        try:
            with warnings.catch_warnings():  # gpiozero warns of each of its choices but the first
                warnings.simplefilter("ignore")
                os.environ[_ASKED] = name
                Device.pin_factory = Device._default_pin_factory()  # no public way to ask
        except Exception as fault:  # noqa: BLE001 - lgpio's class is a bare Exception
            told.append(f"{name}: {words_of(fault)}")
        else:
            return Device.pin_factory
        finally:
            _put_back(asked)
    raise DeviceError(f"no pin library works here ({'; '.join(told)}): {remedy()}")


def remedy(root: Path = Path("/"), python: tuple[int, int] | None = None) -> str:
    """What gets a working library on this system."""
    if not (root / "dev/gpiochip0").exists():
        return "this machine has no pins: set switches.pins to [] and lamp.pin to none"
    if (root / "etc/rpi-issue").exists():
        return "sudo apt install python3-lgpio, then make install again"
    if (python or sys.version_info[:2]) <= _LAST_WHEEL:
        return "make install again, which brings lgpio; or pip install 'lgpio>=0.2'"
    return (
        f"make install again, which builds lgpio for Python {platform.python_version()} (it takes a network and some "
        "minutes); or play without switches (switches.pins [])"
    )


def _put_back(asked: str | None) -> None:
    if asked is None:
        os.environ.pop(_ASKED, None)
    else:
        os.environ[_ASKED] = asked
