"""The settings in use, how the pedal is started, and whether one runs: then a doctor takes none of its devices."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine
from pedal.errors import SettingsError
from pedal.live import one_at_a_time
from pedal.live.set_up.found import with_found
from pedal.settings.card import card_of, load_layered
from pedal.settings.load import load
from pedal.settings.parts import Settings

_UNIT = "/etc/systemd/system/undertoe.service"
_ENABLED = "/etc/systemd/system/multi-user.target.wants/undertoe.service"


def settings_in_use(file: Path | None) -> tuple[Settings, list[Finding]]:
    """The settings to look by, and what is wrong with the file; the defaults where it is wrong."""
    if file is None:
        return with_found(load(None)), [Finding("settings", "ok", "no file: the defaults hold")]
    try:
        layered = load_layered(file, card=card_of(file))
        remedy = "correct it; undertoe check names every fault. The last good settings hold meanwhile"
        over = [Finding("settings", "warn", fault, remedy) for fault in layered.faults[:10]]
        if not over and layered.text:
            over = [Finding("settings", "ok", "over them those of the card or of a stick")]
        return with_found(layered.settings), [Finding("settings", "ok", str(file)), *over]
    except SettingsError as wrong:
        remedy = "correct it; undertoe check names every fault. What follows was looked at with the defaults"
        return load(None), [Finding("settings", "missing", fault, remedy) for fault in wrong.faults[:10]]


def service(machine: Machine) -> Iterator[Finding]:
    """Whether the pedal starts by itself, and whether this very process is watched."""
    if not machine.path(_UNIT).exists():
        yield Finding("service", "ok", "not installed: the pedal is started by hand (make install makes it a service)")
    elif not machine.path(_ENABLED).is_symlink():
        remedy = "systemctl enable --now undertoe"
        yield Finding("service", "warn", "installed, but it does not start by itself", remedy)
    else:
        yield Finding("service", "ok", "starts by itself")
    yield from _memory_limit(machine)
    watched = machine.environment.get("WATCHDOG_USEC", "")
    if machine.environment.get("NOTIFY_SOCKET"):
        words = f"watchdog {int(watched) / 1e6:g} s" if watched.isdecimal() else "no watchdog"
        yield Finding("service manager", "ok", f"listens to this process, {words}")


def _memory_limit(machine: Machine) -> Iterator[Finding]:
    """Some boards start with the kernel's memory groups off: then `MemoryMax` of the unit does nothing."""
    controllers = machine.text("/sys/fs/cgroup/cgroup.controllers").split()
    if controllers and "memory" not in controllers and machine.path(_UNIT).exists():
        remedy = "add cgroup_enable=memory to the line in /boot/firmware/cmdline.txt and start anew; or live with it"
        yield Finding("memory limit", "warn", "the service has none: the kernel's memory groups are off", remedy)


_PROCESSES = "/sys/fs/cgroup/system.slice/undertoe.service/cgroup.procs"
REMEDY = "sudo systemctl stop undertoe (or end the pedal that was started by hand), look again, then start it"


def pedal_process(machine: Machine, settings: Settings) -> int | None:
    """The process of the service, or of a pedal with the state folder of the settings; None if neither runs."""
    own = os.getpid()
    processes = [int(word) for word in machine.text(_PROCESSES).split() if word.isdecimal() and int(word) != own]
    return processes[0] if processes else one_at_a_time.held_by(settings.state.folder)


def not_tried(process: int) -> list[Finding]:
    """What is said in place of trying the devices."""
    fact = f"not tried: the pedal is running (process {process}) and has them"
    return [Finding("pedal", "warn", f"running (process {process})", REMEDY)] + [
        Finding(part, "ok", fact) for part in ("sound", "panel", "pins")
    ]
