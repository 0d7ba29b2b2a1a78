"""`undertoe check`: whether a file of settings is right, and what it changes."""

from __future__ import annotations

import argparse
from pathlib import Path

from pedal import wiring
from pedal.cli.installed import for_the_service
from pedal.errors import SettingsError, UsageError
from pedal.live.lick_folder import FOLDER, LickFolder
from pedal.modes.lick_log import logged_name
from pedal.safe_text import clean
from pedal.settings.card import CARD, NAMES, card_file, card_of
from pedal.settings.document import text_of
from pedal.settings.door import of_a_stick, of_the_card
from pedal.settings.export import changes, default_yaml, reference_page
from pedal.settings.guitar import neck_of
from pedal.settings.homework_file import is_homework, read_homework
from pedal.settings.homework_words import checked_lines
from pedal.settings.load import SERVICE_FILE, Refusals, load, load_over, settings_file, settings_of, values_of
from pedal.settings.parts import Settings
from pedal.theory.neck import unheard

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
    parser.add_argument("file", metavar="FILE.yaml", type=Path, nargs="?", help="the file (default: the one in use)")
    parser.add_argument(
        "--card", action="store_true", help="by the rules of the file on the card, where some settings do not count"
    )
    instead = parser.add_mutually_exclusive_group()
    instead.add_argument("--default", action="store_true", help="print a commented file of the defaults, and end")
    instead.add_argument("--reference", action="store_true", help="print the handbook's page of all settings, and end")


def run(arguments: argparse.Namespace) -> int:
    """0 when the file is good; raises `SettingsError` with every fault."""
    if arguments.default:
        print(default_yaml(), end="")
    elif arguments.reference:
        print(reference_page(), end="")
    elif arguments.card:
        file = _on_the_card(arguments.file)
        _check_for_the_card(file)
        _tell_for_a_stick(file)
    else:
        _check(arguments.file or _in_use(arguments), arguments)
    return 0


def _in_use(arguments: argparse.Namespace) -> Path | None:
    """The file that the pedal would use: root means the installed one, whatever root has of its own."""
    file = settings_file(None)
    return file if file == SERVICE_FILE else settings_file(_config_of_the_pedal(arguments))


def _config_of_the_pedal(arguments: argparse.Namespace) -> Path | None:
    """What --config is to other verbs; and the state folder is that pedal's from now on."""
    meant = argparse.Namespace(verb=arguments.verb, config=None)
    for_the_service(meant)
    config: Path | None = meant.config
    return config


def _on_the_card(file: Path | None) -> Path:
    file = file or card_file()
    if file is None:
        raise UsageError(f"there is no {NAMES[0]} in {CARD}: name the file")
    return file


def _check_for_the_card(file: Path) -> None:
    _tell(file, *_over_the_installed(file, of_the_card))


def _tell_for_a_stick(file: Path) -> None:
    """What is good on the card, and keeps a stick's file from being taken up."""
    try:
        _over_the_installed(file, of_a_stick)
    except SettingsError as refused:
        for fault in refused.faults:
            print(clean(f"from a stick nothing of it counts: {fault}"))


def _over_the_installed(file: Path, refused: Refusals) -> tuple[Settings, Settings]:
    """The settings with a file over the installed ones, and without; raises `SettingsError` for what does not count."""
    below = values_of(settings_file(SERVICE_FILE) if SERVICE_FILE.exists() else None)
    return load_over(below, text_of(file), name=str(file), refused=refused), settings_of(below)


def _check(file: Path | None, arguments: argparse.Namespace) -> None:
    if file is None:
        print("no file of settings: the defaults hold (undertoe check --default prints them)")
        return
    if is_homework(file):
        _check_homework(file, _config_of_the_pedal(arguments))
        return
    _tell(file, load(file), load(None))
    if (card := card_of(file)) is not None and (over := card_file(card)) is not None:
        _check_for_the_card(over)


def _tell(file: Path, settings: Settings, before: Settings) -> None:
    changed = changes(settings, before)
    print(clean(f"{file}: good, " + ("and changes:" if changed else "and changes nothing")))
    for line in changed:
        print(clean(f"  {line}"))
    if low := unheard(neck_of(settings)):
        strings = ", ".join(f"string {number} " + _up_to(fret, capo=settings.capo) for number, fret in low)
        print(f"  not heard, and so not judged: notes below Bb1 ({strings})")


def _up_to(fret: int, *, capo: int) -> str:
    return "open" if fret == capo else f"up to fret {fret}"


def _check_homework(file: Path, config: Path | None) -> None:
    """For the neck, key and players of the settings in use, the card's over the installed ones."""
    settings = wiring.settings(config)
    homework = read_homework(file, settings)
    whose = f" for {homework.player}" if homework.player else ""
    by = f", by {homework.by}" if homework.by else ""
    print(clean(f"{file}: good, homework{whose}{by}:"))
    shelf = LickFolder(settings.state.folder / FOLDER).load()
    for line in checked_lines(homework, settings, [logged_name(one.lick) for one in shelf]):
        print(clean(f"  {line}"))
