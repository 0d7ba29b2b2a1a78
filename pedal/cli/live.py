"""Be the pedal: listen to an interface, judge every bend as it comes, and show it."""

from __future__ import annotations

import argparse
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.modes.names import MODES

if TYPE_CHECKING:
    from pedal.live.printer import Printer
    from pedal.live.session import Wanted

NAME = "live"
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
    parser.add_argument(
        "--config", type=Path, metavar="FILE", help="settings (default: the player's own, or installed)"
    )
    parser.add_argument(
        "--input",
        metavar="DEVICE",
        help="number or part of the name of the audio input (default: that of the settings)",
    )
    parser.add_argument(
        "--display", choices=("panel", "terminal", "png", "none"), help="where the picture goes (default: panel)"
    )
    parser.add_argument("--png", type=Path, metavar="DIR", help="folder for --display png")
    parser.add_argument("--headless", action="store_true", help="no picture: print a line a note")
    parser.add_argument("--json", action="store_true", help="with --headless: one JSON object a note")
    parser.add_argument("--key", help='key and scale, such as "Bb minor pentatonic" (default: that of the settings)')
    parser.add_argument(
        "--mode",
        choices=MODES,
        help="mode to begin in (default: the last one, else that of the settings)",
    )
    parser.add_argument("--log", type=Path, metavar="FILE", help="log of the verdicts (default: that of the settings)")
    parser.add_argument("--no-drone", action="store_true", help="never open the audio output")
    parser.add_argument("--wait", action="store_true", help="wait for an input that is not plugged in yet")


def run(arguments: argparse.Namespace) -> int:
    """Run until told to stop: 0 after SIGTERM, 130 after Ctrl-C."""
    from pedal import wiring
    from pedal.errors import SettingsError, UsageError

    if arguments.json and not arguments.headless:
        raise UsageError("--json prints lines in place of the picture: give --headless as well")
    if (arguments.png is not None) != (arguments.display == "png"):
        raise UsageError("--display png and --png DIR belong together: give both or neither")
    on_panel = not arguments.headless and arguments.display in (None, "panel")
    if arguments.wait and on_panel:
        wiring.first_page()

    from pedal.live import broken_settings, service_manager
    from pedal.live.remarks import Remarks
    from pedal.live.service_manager import Signals
    from pedal.live.session import LiveSession
    from pedal.live.set_up.first import first_set_up_fits
    from pedal.settings.load import settings_file

    printer, remarks = _printer(arguments), Remarks(held=arguments.display == "terminal")

    def begun(signals: Signals) -> LiveSession | str:
        """A session; a pedal that waits for what is missing waits for good settings too, and shows why."""
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
                    make_screen=wiring.panel if on_panel and display.kind != "none" else None,
                )
                if outcome != "again":
                    return outcome

    try:
        with Signals() as signals:
            session = begun(signals)
            if isinstance(session, str):
                return 128 + signal.SIGINT if session == "interrupted" else 0
            if arguments.wait and on_panel and first_set_up_fits(arguments.config):
                set_up = session.set_up(signals, first=True)
                if set_up in ("stopped", "interrupted"):
                    return 128 + signal.SIGINT if set_up == "interrupted" else 0
            while (outcome := session.run_once(signals)) in ("reload", "set_up"):
                if outcome == "reload":
                    service_manager.notify("STATUS=new settings taken up")
                elif (set_up := session.set_up(signals, first=False)) in ("stopped", "interrupted"):
                    return 128 + signal.SIGINT if set_up == "interrupted" else 0
    finally:
        remarks.release()
    if outcome == "interrupted":
        print(f"undertoe: {printer.summary()}", file=sys.stderr)
        return 128 + signal.SIGINT
    return 0


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


def _printer(arguments: argparse.Namespace) -> Printer:
    from pedal.live.printer import Printer
    from pedal.live.verdict_lines import json_line, table_header, table_row

    if not arguments.headless:
        return Printer(None)
    return Printer(json_line) if arguments.json else Printer(table_row, header=table_header())
