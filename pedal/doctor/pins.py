"""Which library drives the pins, and whether that is the one that works."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import metadata

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine
from pedal.ports import PinLibrary
from pedal.settings.parts import Settings

_USABLE_LGPIO = (0, 2)


def pins(machine: Machine, settings: Settings, pin_library: Callable[[], PinLibrary]) -> Iterator[Finding]:
    """The pin library in use; raises DeviceError where none works."""
    if not settings.switches.pins and settings.lamp.pin is None:
        yield Finding("pins", "ok", "neither switches nor a lamp are configured")
        return
    yield from _lgpio()
    library = pin_library()
    fact = f"{library.name} on {library.board}"
    if library.name == "mock":
        yield Finding("pins", "warn", f"{fact}: a rehearsal without pins", "unset GPIOZERO_PIN_FACTORY on the pedal")
    elif library.name == "lgpio":
        yield Finding("pins", "ok", fact)
    else:
        remedy = "install lgpio (0.2 or newer) and set GPIOZERO_PIN_FACTORY=lgpio, as the service does"
        yield Finding("pins", "warn", fact, remedy)
    asked = machine.environment.get("GPIOZERO_PIN_FACTORY", "")
    if asked and asked != library.name:
        yield Finding("pins", "warn", f"{asked} was asked for, {library.name} is in use", "install what was asked for")


def _lgpio() -> Iterator[Finding]:
    try:
        version = metadata.version("lgpio")
    except metadata.PackageNotFoundError:
        return
    numbers = tuple(int(word) for word in version.split(".")[:2] if word.isdecimal())
    if numbers >= _USABLE_LGPIO:
        yield Finding("lgpio", "ok", version)
    else:
        remedy = "pip install 'lgpio>=0.2', or the system's python3-lgpio: older ones on the index are empty"
        yield Finding("lgpio", "missing", f"{version} is an empty package", remedy)
