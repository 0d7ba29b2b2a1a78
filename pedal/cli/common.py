"""What several verbs share: the option for the settings, the printer of lines, the status of how it ended."""

from __future__ import annotations

import argparse
import signal
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pedal.live.printer import Printer

INTERRUPTED = 128 + signal.SIGINT
"""The status of a program that Ctrl-C ended, as shells tell it (POSIX: above 128, by the signal's number)."""


def add_config(parser: argparse.ArgumentParser, what: str = "settings") -> None:
    """`--config FILE`: the settings, or `what` of them counts here."""
    parser.add_argument(
        "--config", type=Path, metavar="FILE", help=f"{what} (default: the player's own, or the installed pedal's)"
    )


def printer_of(arguments: argparse.Namespace) -> Printer:
    """What prints the notes: JSON or a table where there is no picture, nothing where there is one."""
    from pedal.live.printer import Printer
    from pedal.live.verdict_lines import json_line, table_header, table_row

    if not arguments.headless:
        return Printer(None)
    return Printer(json_line) if arguments.json else Printer(table_row, header=table_header())


def status_of(outcome: str) -> int:
    """The exit status of a loop that ended "interrupted" (by Ctrl-C) or otherwise."""
    return INTERRUPTED if outcome == "interrupted" else 0
