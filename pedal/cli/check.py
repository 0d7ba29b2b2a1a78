"""`undertoe check`: whether a file of settings is right, and what it changes."""

from __future__ import annotations

import argparse
from pathlib import Path

from pedal.errors import UsageError
from pedal.live.lick_folder import FOLDER, LickFolder
from pedal.modes.lick_log import logged_name
from pedal.safe_text import clean
from pedal.settings.card import CARD, NAMES, card_file, card_of
from pedal.settings.document import text_of
from pedal.settings.door import of_the_card
from pedal.settings.export import changes, default_yaml, reference_page
from pedal.settings.homework_file import is_homework, read_homework
from pedal.settings.homework_words import checked_lines
from pedal.settings.load import SERVICE_FILE, load, load_over, settings_file, settings_of, values_of
from pedal.settings.parts import Settings

NAME = "check"
HELP = "say whether a file of settings is right, naming every fault with its line"
EXAMPLES = """\
examples:
  undertoe check pedal.yaml            name every fault, or say what the file changes
  undertoe check                       the same for the file that the pedal would use
  undertoe check --card undertoe.yaml  whether all of it counts on the card's FAT partition, or on a stick
  undertoe check homework.yaml         the same for a teacher's homework, with the force of each bend
  undertoe check --default > my.yaml   a commented file of the defaults to begin with
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.epilog = EXAMPLES
    parser.add_argument("file", metavar="FILE.yaml", type=Path, nargs="?", help="the file; without it, the one in use")
    parser.add_argument("--card", action="store_true", help="by the rules of the card, where some do not count")
    instead = parser.add_mutually_exclusive_group()
    instead.add_argument("--default", action="store_true", help="print a commented file of the defaults instead")
    instead.add_argument("--reference", action="store_true", help="print the handbook's page of all settings instead")


def run(arguments: argparse.Namespace) -> int:
    """0 when the file is good; raises `SettingsError` with every fault."""
    if arguments.default:
        print(default_yaml(), end="")
    elif arguments.reference:
        print(reference_page(), end="")
    elif arguments.card:
        _check_for_the_card(arguments.file)
    else:
        _check(settings_file(arguments.file))
    return 0


def _check_for_the_card(file: Path | None) -> None:
    file = file or card_file()
    if file is None:
        raise UsageError(f"there is no {NAMES[0]} in {CARD}: name the file")
    installed = settings_file(SERVICE_FILE) if SERVICE_FILE.exists() else None
    text, below = text_of(file), values_of(installed)
    settings = load_over(below, text, name=str(file), refused=of_the_card)
    _tell(file, settings, settings_of(below))


def _check(file: Path | None) -> None:
    if file is None:
        print("no file of settings: the defaults hold (undertoe check --default prints them)")
        return
    if is_homework(file):
        _check_homework(file)
        return
    _tell(file, load(file), load(None))
    if (card := card_of(file)) is not None and (over := card_file(card)) is not None:
        _check_for_the_card(over)


def _tell(file: Path, settings: Settings, before: Settings) -> None:
    changed = changes(settings, before)
    print(clean(f"{file}: good, " + ("and changes:" if changed else "and changes nothing")))
    for line in changed:
        print(clean(f"  {line}"))


def _check_homework(file: Path) -> None:
    """For the neck, key and players of the settings in use."""
    settings = load(settings_file(None))
    homework = read_homework(file, settings)
    whose = f" for {homework.player}" if homework.player else ""
    by = f", by {homework.by}" if homework.by else ""
    print(clean(f"{file}: good, homework{whose}{by}:"))
    shelf = LickFolder(settings.state.folder / FOLDER).load()
    for line in checked_lines(homework, settings, [logged_name(one.lick) for one in shelf]):
        print(clean(f"  {line}"))
