"""The interpreter, the libraries, and how the processor is clocked."""

from __future__ import annotations

import platform
import sys
from collections.abc import Iterator
from importlib import metadata

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine

_GOVERNOR = "/sys/devices/system/cpu/cpu0/cpufreq/scaling_governor"
_LIBRARIES = ("numpy", "PyYAML", "Pillow", "PyAudio", "gpiozero", "luma.oled")
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
            yield Finding(name, "missing", "not installed", f"run make install again, or pip install {name}")


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
