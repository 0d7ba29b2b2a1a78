"""Look back over the log: what stands out, figures with their intervals, pictures, and the log itself to give away.

For example:

    undertoe review --since 30d
    undertoe review --target b7-1 --html review.html
    undertoe review --session -1 --csv last.csv
    undertoe review --export class.jsonl
    undertoe review --forget 12
"""

from __future__ import annotations

import argparse
import sys
import time
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.cli.common import add_config
from pedal.cli.installed import for_the_service
from pedal.errors import StoreError, UsageError
from pedal.extras import need
from pedal.safe_text import clean

if TYPE_CHECKING:
    from pedal.log.reader import Session
    from pedal.review.review import Review
    from pedal.review.selection import Selection
    from pedal.settings.parts import Settings

HELP = "look back over the log: advice, tables, pictures, data"

_CHOICES = ("since", "session", "key", "target", "player")
_VIEWS = ("json", "csv", "html", "plot", "midi")
_NOT_WITH = {
    "import": ("forget", "export", *_VIEWS, *_CHOICES),
    "forget": (*_VIEWS, *_CHOICES),  # the number says which session, and --export keeps a copy of it
    "export": _VIEWS,
}
"""What each job that is no look at the log leaves undone."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.add_argument(
        "--since", metavar="DATE", help="only from this day on: 2026-11-01, or 30d for the last 30 days (default: all)"
    )
    parser.add_argument(
        "--session", type=int, metavar="N", help="only this session of the list; -1 is the last (default: all)"
    )
    parser.add_argument("--key", help='only this key, such as "G minor pentatonic" (default: all)')
    parser.add_argument(
        "--target", help='only this target: degrees ("b7-1", "b3 curl") or the note bent to ("G4"; default: all)'
    )
    parser.add_argument("--player", help="only this player, where a log holds several (default: all)")
    parser.add_argument("--log", type=Path, metavar="FILE", help="the log (default: the pedal's own)")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON instead of tables")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write one row per note")
    parser.add_argument("--html", type=Path, metavar="FILE", help="write one page, for a phone too, and for paper")
    parser.add_argument(
        "--plot", type=Path, metavar="FILE", help="draw the pictures: .png, .svg or .pdf (needs matplotlib)"
    )
    parser.add_argument("--midi", type=Path, metavar="FILE", help="write the notes with their bends as a MIDI file")
    parser.add_argument("--export", type=Path, metavar="FILE", help="write the chosen sessions for another log")
    parser.add_argument(
        "--import", dest="import_", type=Path, metavar="FILE", help="take sessions of an export into the log"
    )
    parser.add_argument(
        "--restore",
        action="store_true",
        help="with --import: the file is this pedal's own, and may add to its sessions",
    )
    parser.add_argument(
        "--forget",
        type=int,
        metavar="N",
        help="remove session N of the list for good; --export keeps a copy (default: none)",
    )
    add_config(parser, "settings whose log and bands count")


def run(arguments: argparse.Namespace) -> int:
    """Write what was asked for, or print the tables."""
    from pedal import wiring

    for_the_service(arguments)
    settings = wiring.settings(arguments.config)
    log = arguments.log or settings.log.path
    _refuse_what_would_be_left_undone(arguments)
    if arguments.import_:
        _take_in(arguments.import_, log, settings, restoring=arguments.restore)
        return 0
    if arguments.forget is not None:
        _forget(log, arguments.forget, copy=arguments.export)
        return 0
    choice = _choice(arguments)
    if arguments.export:
        _give(log, arguments.export, _whole_sessions(log, choice))
        return 0
    review = _review(arguments, log, choice, settings)
    _write(review, arguments, log, choice)
    _tell_homework(arguments, log, settings)
    for remark in review.remarks:
        _remark(remark)
    return 0


def _refuse_what_would_be_left_undone(arguments: argparse.Namespace) -> None:
    """Raise `UsageError` for options that do not go together, before anything is done."""
    if arguments.restore and not arguments.import_:
        raise UsageError("--restore says what --import may do: give both")
    values = vars(arguments) | {"import": arguments.import_}
    given = {name for name, value in values.items() if value is not None and value is not False}
    for job, others in _NOT_WITH.items():
        for other in others:
            if {job, other} <= given:
                raise UsageError(f"--{job} and --{other} do not go together: leave one of them out")
    written = [(name, Path(values[name]).resolve()) for name in _VIEWS if isinstance(values[name], Path)]
    for (one, path), (other, same) in combinations(written, 2):
        if path == same:
            raise UsageError(f"--{one} and --{other} would write over each other: give each a file of its own")


def _choice(arguments: argparse.Namespace) -> Selection:
    from pedal.review.selection import Selection, parse_key_words, parse_since

    return Selection(
        since_s=None if arguments.since is None else parse_since(arguments.since, now_s=time.time()),
        session=arguments.session,
        key=None if arguments.key is None else parse_key_words(arguments.key),
        target=arguments.target,
        player=arguments.player,
    )


def _review(arguments: argparse.Namespace, log: Path, choice: Selection, settings: Settings) -> Review:
    from pedal.review.review import review_of

    with_pictures = bool(arguments.html or arguments.plot)
    return review_of(log, choice, bands=settings.bands, with_pictures=with_pictures)


def _write(review: Review, arguments: argparse.Namespace, log: Path, choice: Selection) -> None:
    from pedal.review import data, page, terminal
    from pedal.review.review import noted
    from pedal.safe_files import picture_format, writing, writing_bytes

    if arguments.plot:
        from pedal.review.plot import SUFFIXES

        picture = picture_format("--plot", arguments.plot, SUFFIXES)  # before any file is written
        need("matplotlib", "--plot", or_else="--html, which needs nothing")
    if arguments.midi:
        need("mido", "--midi", or_else="--csv, which needs nothing")
        from pedal.review.midi import save_midi
    if arguments.csv:
        with writing(arguments.csv, instead_of=(log,)) as file:
            data.write_csv(noted(log, choice), file)
    if arguments.html:
        with writing(arguments.html, instead_of=(log,)) as file:
            file.write(page.page_of(review))
    if arguments.plot:
        from pedal.review.plot import save_plot

        with writing_bytes(arguments.plot, instead_of=(log,)) as dots:
            save_plot(review, dots, picture=picture)
    if arguments.midi:
        with writing_bytes(arguments.midi, instead_of=(log,)) as notes:
            save_midi(log, choice, notes)
    if arguments.json:
        print(data.json_of(review))
    elif not (arguments.csv or arguments.html or arguments.plot or arguments.midi):
        print(terminal.text_of(review), end="")


def _tell_homework(arguments: argparse.Namespace, log: Path, settings: Settings) -> None:
    """How far the homework beside the settings has come, below the tables; a broken file is a remark and no more."""
    from pedal import wiring
    from pedal.errors import SettingsError
    from pedal.review.homework import progress_over
    from pedal.settings.homework_words import progress_lines

    if arguments.json or arguments.csv or arguments.html or arguments.plot or arguments.midi:
        return
    try:
        homework = wiring.homework(arguments.config, settings, now_wall_s=time.time())
    except SettingsError as fault:
        _remark(str(fault))
        return
    if homework is not None:
        print()
        for line in progress_lines(progress_over(log, homework), settings):
            print(clean(line))


def _whole_sessions(log: Path, choice: Selection) -> list[Session]:
    from pedal.log import StoreReader
    from pedal.review.selection import chosen_sessions

    if choice.key is not None or choice.target is not None:
        raise UsageError("--export gives whole sessions: choose with --since, --session or --player")
    with StoreReader(log) as reader:
        return chosen_sessions(reader.sessions(), choice)


def _give(log: Path, path: Path, chosen: list[Session]) -> int:
    """How many notes the file holds now."""
    from pedal.log.sharing import export_sessions

    sessions, entries = export_sessions(log, path, chosen)
    print(clean(f"{path}: {_count(sessions, 'session')} with {_count(entries, 'note')} written"))
    return entries


def _take_in(path: Path, log: Path, settings: Settings, *, restoring: bool) -> None:
    from pedal.log.sharing import import_sessions

    most_bytes = settings.log.max_mb * 1_000_000
    sessions, entries = import_sessions(path, log, restoring=restoring, most_bytes=most_bytes, remark=_remark)
    print(clean(f"{log}: {_count(sessions, 'new session')}, {_count(entries, 'new note')}"))


def _forget(log: Path, session: int, *, copy: Path | None) -> None:
    from pedal.log.sharing import forget_session

    if not log.is_file():
        raise StoreError(f"There is no log at {log}: name another file with --log.")
    kept = None if copy is None else _give(log, copy, _to_be_kept(log, session))
    entries = forget_session(log, session, kept=kept)
    if entries is None:
        raise _not_there(session)
    print(clean(f"{log}: session {session} with {_count(entries, 'note')} is forgotten"))


def _to_be_kept(log: Path, session: int) -> list[Session]:
    from pedal.log import StoreReader

    with StoreReader(log) as reader:
        found = [one for one in reader.sessions() if one.id == session]
        if not found and session in reader.session_ids():
            raise UsageError(
                f"--export cannot keep session {session}, which holds what no pedal writes: leave --export out"
            )
    if not found:
        raise _not_there(session)
    return found


def _not_there(session: int) -> UsageError:
    return UsageError(f"--forget {session} is not in the log: `undertoe review` lists the sessions")


def _remark(sentence: str) -> None:
    print(clean(f"undertoe: {sentence}"), file=sys.stderr)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
