"""The installed pedal, seen from the command line: it has settings and a state folder of its own."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from pedal.settings.load import SERVICE_FILE

SERVICE_STATE = Path("/var/lib/undertoe")


def for_the_service(arguments: argparse.Namespace) -> None:
    """Root on an installed pedal means the pedal itself, not a state folder of its own."""
    if os.geteuid() == 0 and _is_installed() and not _says_which(arguments):
        os.environ["STATE_DIRECTORY"] = str(SERVICE_STATE)
        arguments.config = SERVICE_FILE


def remark_for(arguments: argparse.Namespace, verb: str) -> str:
    """What somebody must know who may not look into the installed pedal's folder; "" where there is none."""
    if os.geteuid() == 0 or not _is_installed() or _says_which(arguments):
        return ""
    return f"this is not the installed pedal's own: sudo undertoe {verb}"


def _is_installed() -> bool:
    return SERVICE_STATE.is_dir() and SERVICE_FILE.exists()


def _says_which(arguments: argparse.Namespace) -> bool:
    given = (arguments.config, getattr(arguments, "log", None))
    return any(given) or "STATE_DIRECTORY" in os.environ
