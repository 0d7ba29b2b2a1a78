"""The installed pedal, seen from the command line: it has settings and a state folder of its own."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from pedal.settings.load import SERVICE_FILE

SERVICE_STATE = Path("/var/lib/undertoe")


def for_the_service(arguments: argparse.Namespace, *, named_by: tuple[str, ...] = ("config", "log")) -> None:
    """Root on an installed pedal means the pedal itself; others, who may not look into it, are told so.

    named_by : the options that say which other pedal is meant, if one of them is given.
    """
    named = any(getattr(arguments, option, None) for option in named_by)
    if not _is_installed() or named or "STATE_DIRECTORY" in os.environ:
        return
    if os.geteuid() == 0:
        os.environ["STATE_DIRECTORY"] = str(SERVICE_STATE)
        arguments.config = SERVICE_FILE
    else:
        print(f"undertoe: this is not the installed pedal's own: sudo undertoe {arguments.verb}", file=sys.stderr)


def _is_installed() -> bool:
    return SERVICE_STATE.is_dir() and SERVICE_FILE.exists()
