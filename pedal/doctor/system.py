"""What the system gives: libraries, the processor's clock, devices that this user may open, real time, the pins."""

from __future__ import annotations

import importlib.util
import os
import platform
import resource
import sys
from collections.abc import Callable, Iterator
from importlib import metadata

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine
from pedal.extras import installing
from pedal.ports import PinLibrary
from pedal.settings.parts import Settings

_GOVERNOR = "/sys/devices/system/cpu/cpu0/cpufreq/scaling_governor"
_LIBRARIES = ("numpy", "PyYAML", "Pillow", "PyAudio", "gpiozero", "luma.oled", "soundfile", "segno")
_LEAST_PYTHON = (3, 11)


def versions() -> Iterator[Finding]:
    """Python and every library."""
    python = f"{platform.python_version()} on {platform.machine()}"
    if sys.version_info >= _LEAST_PYTHON:
        yield Finding("python", "ok", python)
    else:
        yield Finding("python", "missing", python, "install Python 3.11 or newer")
    for name in _LIBRARIES:
        try:
            yield Finding(name, "ok", metadata.version(name))
        except metadata.PackageNotFoundError:
            yield Finding(name, "missing", "not installed", f"run make install again, or {installing(name)}")


def clock(machine: Machine) -> Iterator[Finding]:
    """The frequency governor: one that sleeps deeply makes late blocks."""
    governor = machine.text(_GOVERNOR)
    if not governor:
        return
    if governor in ("performance", "schedutil"):
        yield Finding("processor clock", "ok", f"governor {governor}")
    else:
        remedy = "sudo systemctl enable --now undertoe-governor; docs/realtime.md says what it brings"
        yield Finding("processor clock", "warn", f"governor {governor}", remedy)


LEAST_PRIORITY = 20
"""The real-time priority that the service file grants at least."""


def devices(machine: Machine, settings: Settings) -> Iterator[Finding]:
    """The device files that the settings need: there, and open to this user."""
    if machine.path("/dev/snd").exists():  # without it sound may still come from a server
        yield from _one(machine, "/dev/snd", "audio", "")
    display = settings.display
    if display.kind != "none" and display.bus == "i2c":
        remedy = "switch the bus on (dtparam=i2c_arm=on in the boot configuration), or set display.kind to none"
        yield from _one(machine, f"/dev/i2c-{display.i2c_port}", "i2c", remedy)
    if display.kind != "none" and display.bus == "spi":
        remedy = "switch the bus on (dtparam=spi=on in the boot configuration), or set display.kind to none"
        yield from _one(machine, f"/dev/spidev{display.spi_port}.{display.spi_device}", "spi", remedy)
        yield _spidev()
    if _needs_pins(settings):
        remedy = "no pins here: use undertoe demo, or set switches.pins to [], and lamp.pin and display.kind to none"
        yield from _one(machine, "/dev/gpiochip0", "gpio", remedy)


def _needs_pins(settings: Settings) -> bool:
    return bool(settings.switches.pins) or settings.lamp.pin is not None or settings.display.needs_pins


def _spidev() -> Finding:
    """The one library that only a panel on SPI needs."""
    if importlib.util.find_spec("spidev") is not None:
        return Finding("spidev", "ok", "installed")
    remedy = f"{installing('spidev')}; or wire the panel by I2C"
    return Finding("spidev", "missing", "not installed", remedy)


def real_time(limit: int | None = None) -> Iterator[Finding]:
    """The highest real-time priority that this process may ask for."""
    allowed = resource.getrlimit(resource.RLIMIT_RTPRIO)[1] if limit is None else limit
    if os.geteuid() == 0 and limit is None:
        yield Finding("real time", "ok", "allowed (root)")
    elif allowed == resource.RLIM_INFINITY or allowed >= LEAST_PRIORITY:
        yield Finding("real time", "ok", f"allowed up to priority {allowed}")
    else:
        remedy = "start the pedal as the service, which grants it, or see docs/realtime.md for a login user"
        yield Finding("real time", "warn", f"allowed up to priority {allowed}", remedy)


def _one(machine: Machine, name: str, group: str, absent: str) -> Iterator[Finding]:
    path = machine.path(name)
    if not path.exists():
        yield Finding(name, "missing", "not there", absent)
    elif os.access(path, os.R_OK) and (path.is_dir() or os.access(path, os.W_OK)):
        yield Finding(name, "ok", "open to this user")
    elif group in machine.groups:
        yield Finding(name, "missing", f"not open to this user, although in group {group}", "look at its udev rule")
    else:
        remedy = f"add the user to the group (usermod -aG {group} USER) and log in again"
        yield Finding(name, "missing", f"only for group {group}", remedy)


_USABLE_LGPIO = (0, 2)


def pins(machine: Machine, settings: Settings, pin_library: Callable[[], PinLibrary]) -> Iterator[Finding]:
    """The pin library in use; raises DeviceError where none works."""
    if not _needs_pins(settings):
        yield Finding("pins", "ok", "no switches, no lamp and no panel that needs them are configured")
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
