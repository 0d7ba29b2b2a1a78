"""Set the pedal up: find the panel, the switches, the input and the output, and prove it by tuning a string."""

from __future__ import annotations

import argparse
import sys

from pedal.cli.common import add_config, status_of
from pedal.cli.installed import for_the_service
from pedal.setup.names import NAMES

HELP = "find panel, switches, input and output, step by step"
EXAMPLES = """\
examples:
  undertoe setup                     the steps that are not done yet, in the terminal
  undertoe setup --list              choose a step, and repeat it
  undertoe setup --step input        one step alone
  undertoe setup --display panel     the same on the pedal's own screen, by its switches
  sudo undertoe setup                the same for the installed service (stop it first)
  undertoe setup --show              what was found
  undertoe setup --forget            forget it: the settings hold as they are written

Any switch does, and so does the key a: a short press goes on, a long one (A) leaves a step or takes it again;
held for 2.5 s, or Ctrl-C, leaves the set-up. What was found so far stays.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.epilog = EXAMPLES
    add_config(parser)
    parser.add_argument(
        "--display", choices=("terminal", "panel"), default="terminal", help="where the pages go (default: terminal)"
    )
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--step", choices=NAMES, help="this step alone (default: those not done yet)")
    what.add_argument("--list", action="store_true", help="begin with the list of steps")
    what.add_argument("--show", action="store_true", help="print what was found, and end")
    what.add_argument("--forget", action="store_true", help="forget what was found, and end")


def run(arguments: argparse.Namespace) -> int:
    """0 when it came to its end, 130 after Ctrl-C; what was found until then is kept either way."""
    from pedal import wiring
    from pedal.doctor import service
    from pedal.doctor.machine import Machine
    from pedal.errors import UsageError
    from pedal.live.remarks import Remarks
    from pedal.live.service_manager import Signals
    from pedal.live.set_up.found import found_file
    from pedal.live.set_up.starting import set_up_pedal

    for_the_service(arguments)
    settings = wiring.given_settings(arguments.config).settings
    if arguments.show:
        print("\n".join(_told(found_file(settings).load())))
        return 0
    process = service.pedal_process(Machine(), settings)
    if process is not None:
        raise UsageError(
            f"the pedal is running (process {process}) and has the devices: choose set-up in its menu, or "
            f"{service.REMEDY}"
        )
    if arguments.forget:
        found_file(settings).save({})
        print("Forgotten: the settings hold as they are written.")
        return 0
    remarks = Remarks(held=arguments.display == "terminal")
    try:
        with Signals() as signals:
            outcome = set_up_pedal(
                arguments.config,
                signals=signals,
                say=remarks.say,
                in_terminal=arguments.display == "terminal",
                first=not arguments.list and arguments.step is None,
                only=arguments.step,
            )
    finally:
        remarks.release()
    print("\n".join(_told(found_file(settings).load())), file=sys.stderr)
    return status_of(outcome)


def _told(record: dict[str, str | int | float | bool]) -> list[str]:
    """A line a step, then a line a setting."""
    steps = [f"{name:9} {str(record.get(name, 'not yet')).removeprefix('done: ')}" for name in NAMES]
    return steps + [f"{path}: {word}" for path, word in sorted(record.items()) if "." in path]
