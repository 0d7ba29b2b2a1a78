"""`undertoe check`: whether a file of settings is right, and what it changes."""

from __future__ import annotations

import argparse
from pathlib import Path

from pedal.safe_text import clean
from pedal.settings.export import changes, default_yaml, reference_page
from pedal.settings.load import load, settings_file

NAME = "check"
HELP = "say whether a file of settings is right, naming every fault with its line"
EXAMPLES = """\
examples:
  undertoe check pedal.yaml            name every fault, or say what the file changes
  undertoe check                       the same for the file that the pedal would use
  undertoe check --default > my.yaml   a commented file of the defaults to begin with
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the verb."""
    parser.epilog = EXAMPLES
    parser.add_argument("file", metavar="FILE.yaml", type=Path, nargs="?", help="the file; without it, the one in use")
    instead = parser.add_mutually_exclusive_group()
    instead.add_argument("--default", action="store_true", help="print a commented file of the defaults instead")
    instead.add_argument("--reference", action="store_true", help="print the handbook's page of all settings instead")


def run(arguments: argparse.Namespace) -> int:
    """0 when the file is good; raises `SettingsError` with every fault."""
    if arguments.default:
        print(default_yaml(), end="")
    elif arguments.reference:
        print(reference_page(), end="")
    else:
        _check(settings_file(arguments.file))
    return 0


def _check(file: Path | None) -> None:
    if file is None:
        print("no file of settings: the defaults hold (undertoe check --default prints them)")
        return
    changed = changes(load(file), load(None))
    print(clean(f"{file}: good, " + ("and changes:" if changed else "and changes nothing")))
    for line in changed:
        print(clean(f"  {line}"))
