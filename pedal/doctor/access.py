"""Whether this user may open the devices, and run the audio thread in real time."""

from __future__ import annotations

import importlib.util
import os
import resource
from collections.abc import Iterator

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine
from pedal.settings.parts import Settings

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
    if settings.switches.pins or settings.lamp.pin is not None:
        remedy = "this machine has no pins: use undertoe demo, or set switches.pins to [] and lamp.pin to none"
        yield from _one(machine, "/dev/gpiochip0", "gpio", remedy)


def _spidev() -> Finding:
    """The one library that only a panel on SPI needs."""
    if importlib.util.find_spec("spidev") is not None:
        return Finding("spidev", "ok", "installed")
    remedy = "pip install 'undertoe[spi]', or the system's python3-spidev; or wire the panel by I2C"
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
