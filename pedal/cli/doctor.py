"""`undertoe doctor`: says what works here, and what to do about what does not."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from typing import TYPE_CHECKING

from pedal.cli.common import add_config

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pedal.doctor.finding import Finding
    from pedal.settings.parts import Settings

HELP = "say what works on this machine, and the remedy for what does not"
EXAMPLES = """\
examples:
  undertoe doctor                look at everything; status 0 when all that the settings ask for works
  undertoe doctor --no-listen    the same without opening the sound input
  undertoe doctor --panel        put test pictures on the panel, one after another
  undertoe doctor --switches     say each press and release as it comes
  undertoe doctor --loop         with a cable from output to input: delay, losses, noise, hum, level, distortion, clocks
  undertoe doctor --json         the findings for a program
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.epilog = EXAMPLES
    add_config(parser)
    parser.add_argument(
        "--no-listen", action="store_true", help="skip the check that opens the sound input for a second"
    )
    parser.add_argument("--json", action="store_true", help="print the findings as JSON")
    parser.add_argument("--panel", action="store_true", help="put test pictures on the panel, and time a frame")
    parser.add_argument("--loop", action="store_true", help="measure the sound device over a cable, output to input")
    parser.add_argument("--switches", action="store_true", help="wait for presses, and name each one")


def run(arguments: argparse.Namespace) -> int:
    """0 when all that the settings ask for works, 1 when something is missing."""
    from pedal.cli.installed import for_the_service
    from pedal.doctor import service
    from pedal.doctor.finding import as_json, as_lines, summary
    from pedal.doctor.machine import Machine
    from pedal.errors import UsageError
    from pedal.settings.load import settings_file

    for_the_service(arguments)
    settings, findings = service.settings_in_use(settings_file(arguments.config))
    process = service.pedal_process(Machine(), settings)
    interactive_checks = arguments.panel or arguments.switches or arguments.loop
    if process is not None and interactive_checks:
        raise UsageError(f"the pedal is running (process {process}) and has the devices: {service.REMEDY}")
    findings += _look_everywhere(settings, listen=not arguments.no_listen, process=process)
    if interactive_checks:
        findings += _try_by_hand(arguments, settings)
    if arguments.json:
        print(as_json(findings))
    else:
        print("\n".join([*as_lines(findings), "", summary(findings)]))
    return 1 if any(finding.mark == "missing" for finding in findings) else 0


def _look_everywhere(settings: Settings, *, listen: bool, process: int | None) -> list[Finding]:
    """All looks; those that would take a device only where no pedal runs."""
    from pedal import wiring
    from pedal.doctor import panel, service, sound, storage, system
    from pedal.doctor.finding import Look, look_apart, look_safely
    from pedal.doctor.machine import Machine

    machine = Machine()
    before: dict[str, Look] = {
        "versions": system.versions,
        "processor clock": partial(system.clock, machine),
        "real time": system.real_time,
        "device files": partial(system.devices, machine, settings),
    }
    devices: dict[str, Look] = {
        "panel": lambda: panel.panel(machine, settings, wiring.address_answers),
        "pins": lambda: system.pins(machine, settings, wiring.pin_library),
    }
    after: dict[str, Look] = {
        "storage": partial(storage.storage, settings),
        "service": partial(service.service, machine),
    }

    def all_of(looks: dict[str, Look]) -> list[Finding]:
        return [finding for part, look in looks.items() for finding in look_safely(part, look)]

    if process is None:
        of_devices = [*look_apart("sound", partial(sound.survey, settings, hear=listen)), *all_of(devices)]
    else:
        of_devices = service.not_tried(process)
    return [*all_of(before), *of_devices, *all_of(after)]


def _try_by_hand(arguments: argparse.Namespace, settings: Settings) -> list[Finding]:
    from pedal import wiring
    from pedal.doctor import cable, interactive_checks
    from pedal.doctor.finding import look_apart, look_safely
    from pedal.errors import UsageError

    say = partial(print, file=sys.stderr, flush=True)
    findings: list[Finding] = []

    def try_panel() -> Iterator[Finding]:
        if settings.display.kind == "none":
            raise UsageError("there is no panel to try: set display.kind in the settings")
        return interactive_checks.try_panel(wiring.panel(settings.display), settings.display, say)

    if arguments.panel:
        findings += look_safely("panel", try_panel)
    if arguments.switches:
        pins = settings.switches.pins
        findings += look_safely(
            "switches", lambda: interactive_checks.try_switches(wiring.footswitches(pins), pins, say)
        )
    if arguments.loop:
        say(cable.CARE)
        findings += look_apart("cable", partial(cable.try_cable, settings), patience_s=cable.PATIENCE_S)
    return findings
