"""Whether a pedal runs on this machine: then it has card, pins and panel, and a doctor takes none of them."""

from __future__ import annotations

import os

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine
from pedal.live import one_at_a_time
from pedal.settings.parts import Settings

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
