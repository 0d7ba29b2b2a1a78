"""Be the pedal: listen to an interface, judge every bend as it comes, and show it."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.cli.common import add_config, printer_of, status_of
from pedal.modes.names import MODES

if TYPE_CHECKING:
    from pedal.live.printer import Printer
    from pedal.live.remarks import Remarks
    from pedal.live.service_manager import Signals
    from pedal.live.session import LiveSession, Wanted

HELP = "be the pedal: listen to an interface and judge what is played"
EXAMPLES = """\
examples:
  undertoe live                                  all as the settings say
  undertoe live --input USB --display terminal   a practice tool on a laptop, keys for footswitches
  undertoe live --headless --json                verdict lines for a program
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.epilog = EXAMPLES
    add_config(parser)
    parser.add_argument(
        "--input",
        metavar="DEVICE",
        help="number or part of the name of the audio input (default: from the settings)",
    )
    parser.add_argument(
        "--display", choices=("panel", "terminal", "png", "none"), help="where the picture goes (default: panel)"
    )
    parser.add_argument("--png", type=Path, metavar="DIR", help="folder for --display png")
    parser.add_argument("--headless", action="store_true", help="no picture: print one line per note")
    parser.add_argument("--json", action="store_true", help="with --headless: one JSON object per note")
    parser.add_argument("--key", help='key and scale, such as "Bb minor pentatonic" (default: from the settings)')
    parser.add_argument(
        "--mode",
        choices=MODES,
        help="mode to begin in (default: the last one, else from the settings)",
    )
    parser.add_argument("--log", type=Path, metavar="FILE", help="log of the verdicts (default: from the settings)")
    parser.add_argument("--no-drone", action="store_true", help="never open the audio output")
    parser.add_argument("--wait", action="store_true", help="wait for an input that is not plugged in yet")


def run(arguments: argparse.Namespace) -> int:
    """Run until told to stop: 0 after SIGTERM, 130 after Ctrl-C."""
    from pedal import wiring
    from pedal.errors import UsageError

    if arguments.json and not arguments.headless:
        raise UsageError("--json prints lines in place of the picture: give --headless as well")
    if (arguments.png is not None) != (arguments.display == "png"):
        raise UsageError("--display png and --png DIR belong together: give both or neither")
    if arguments.wait and _is_on_panel(arguments):
        wiring.first_page()

    from pedal.live.remarks import Remarks
    from pedal.live.service_manager import Signals

    printer, remarks = printer_of(arguments), Remarks(held=arguments.display == "terminal")
    try:
        with Signals() as signals:
            session = _begun(arguments, printer, remarks, signals)
            if isinstance(session, str):
                return status_of(session)
            outcome = _played(session, arguments, signals)
    finally:
        remarks.release()
    if outcome == "interrupted":
        print(f"undertoe: {printer.summary()}", file=sys.stderr)
    return status_of(outcome)


def _begun(arguments: argparse.Namespace, printer: Printer, remarks: Remarks, signals: Signals) -> LiveSession | str:
    """A session, or how the wait for one ended; who waits for devices waits for good settings too, and shows why."""
    from pedal import wiring
    from pedal.errors import SettingsError
    from pedal.live import broken_settings
    from pedal.live.session import LiveSession
    from pedal.settings.load import settings_file

    while True:
        try:
            return LiveSession(_wanted(arguments), printer, remarks)
        except SettingsError as fault:
            file = settings_file(arguments.config)
            if not arguments.wait or file is None:
                raise
            display = wiring.settings_in_spite(file).display
            outcome = broken_settings.until_mended(
                file,
                fault,
                signals=signals,
                say=remarks.say,
                display=display,
                make_screen=wiring.panel if _is_on_panel(arguments) and display.kind != "none" else None,
            )
            if outcome != "again":
                return outcome


def _played(session: LiveSession, arguments: argparse.Namespace, signals: Signals) -> str:
    """How it ended, after a first set-up, new settings, and set-ups from the menu."""
    from pedal.live import service_manager
    from pedal.live.set_up.first import first_set_up_fits

    outcome: str = "over"
    if arguments.wait and _is_on_panel(arguments) and first_set_up_fits(arguments.config):
        outcome = session.set_up(signals, first=True)
    while outcome not in ("stopped", "interrupted"):
        outcome = session.run_once(signals)
        if outcome == "over":
            break
        if outcome == "reload":
            service_manager.notify("STATUS=new settings taken up")
        elif outcome == "set_up":
            outcome = session.set_up(signals, first=False)
    return outcome


def _is_on_panel(arguments: argparse.Namespace) -> bool:
    return not arguments.headless and arguments.display in (None, "panel")


def _wanted(arguments: argparse.Namespace) -> Wanted:
    from pedal.live.session import Wanted

    return Wanted(
        config=arguments.config,
        device=arguments.input,
        display=arguments.display,
        pictures=arguments.png,
        headless=arguments.headless,
        key=arguments.key,
        mode=arguments.mode,
        log=arguments.log,
        drone=not arguments.no_drone,
        wait=arguments.wait,
    )
