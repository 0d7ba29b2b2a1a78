"""Between the pedal and a stick: the log and the takes go over, settings, homework and licks come in."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.cli.common import add_config
from pedal.cli.installed import for_the_service
from pedal.safe_text import clean

if TYPE_CHECKING:
    from pedal.carry.taking import Taken
    from pedal.live.news import News
    from pedal.settings.parts import Settings

HELP = "copy the log and the takes to a stick, and take settings, homework and licks from it"
EXAMPLES = """\
examples:
  undertoe carry /media/stick            both ways, with the folder "undertoe" on the stick
  undertoe carry --tar /boot/firmware    what would be copied, as an archive: for a folder that only another may write

A stick without a folder "undertoe" is left alone. Into it go log.jsonl (undertoe review --import takes it), review.html
and the takes; out of it come undertoe.yaml, homework.yaml and licks/*.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.epilog = EXAMPLES
    parser.add_argument("place", metavar="DIR", type=Path, help="where the stick is mounted")
    parser.add_argument("--tar", action="store_true", help="write an archive to standard output, and take nothing")
    add_config(parser)


def run(arguments: argparse.Namespace) -> int:
    """0 when all went over, 1 when something was refused or found no room."""
    from pedal import wiring
    from pedal.carry.giving import FOLDER, give, own_folder, pedals_folder
    from pedal.carry.sinks import FolderSink
    from pedal.carry.taking import take
    from pedal.errors import StoreError, UsageError
    from pedal.live.news import tell
    from pedal.settings.load import settings_file

    for_the_service(arguments)
    settings = wiring.settings(arguments.config)
    folder = own_folder(arguments.place)
    if folder is None:
        raise UsageError(f'{arguments.place} has no folder "{FOLDER}": make one, so that the pedal may use it')
    if arguments.tar:
        return _send(settings, folder)
    taken = take(folder, settings, base=settings_file(arguments.config))
    for sentence in filter(None, (*taken.faults, taken.sentence)):
        print(clean(sentence))
    try:
        given = give(settings, FolderSink(folder / pedals_folder(settings)))
    except StoreError as fault:
        tell(settings.state.folder, _news(taken, str(fault)))
        raise
    print(clean(given.sentence))
    tell(settings.state.folder, _news(taken, given.sentence))
    return 1 if taken.faults or given.left_out else 0


def _news(taken: Taken, at_the_end: str) -> News:
    """For the panel, which has room for three sentences: the last tells when the stick may be pulled."""
    from pedal.live.news import News

    faults = taken.faults
    first = f"{len(faults)} faults; the first: {faults[0]}" if len(faults) > 1 else "".join(faults)
    return News(tuple(filter(None, (first, taken.sentence, at_the_end))), anew=bool(taken.things))


def _send(settings: Settings, folder: Path) -> int:
    from pedal.carry.giving import give
    from pedal.carry.sinks import TarSink
    from pedal.errors import UsageError

    if sys.stdout.isatty():
        raise UsageError("--tar writes an archive: send it to a file or to tar")
    sink = TarSink(folder, sys.stdout.buffer)
    given = give(settings, sink)
    sink.close()
    print(f"undertoe: {clean(given.sentence)}", file=sys.stderr)
    return 1 if given.left_out else 0
