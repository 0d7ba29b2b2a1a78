"""What the pedal gives: its log as an export, its review as a page, and its takes, the newest first."""

from __future__ import annotations

import fcntl
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pedal.carry.sinks import Sink
from pedal.errors import StoreError
from pedal.safe_files import cannot_be_written, private_folder
from pedal.settings.parts import Settings
from pedal.takes.folder import takes_in
from pedal.values import frozen

FOLDER = "undertoe"
"""On a stick or card: what lies elsewhere is neither read nor written."""
_ASIDE = ".carry-"
LOG, PAGE, TAKES = "log.jsonl", "review.html", "takes"


@frozen
class Given:
    """What went over; `left_out` are takes that found no room."""

    sessions: int
    takes: int
    left_out: int

    @property
    def sentence(self) -> str:
        """What the panel says once the stick may be pulled: how many went over, and what found no room."""
        parts = [_counted(self.sessions, "session")]
        if self.takes:
            parts.append(_counted(self.takes, "take"))
        room = f"; no room for {_counted(self.left_out, 'take')}" if self.left_out else ""
        return f"Copied: {' and '.join(parts)}{room}."


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def give(settings: Settings, sink: Sink) -> Given:
    """Put all that there is into a sink; raises `StoreError`, and what was put before stays."""
    sessions = _give_log(settings, sink) if settings.log.path.is_file() else 0
    takes = left_out = 0
    for take in _newest_first(settings.takes.folder):
        try:
            name, size = f"{TAKES}/{take.name}", take.stat().st_size
            if sink.holds(name, size):
                continue
            if left_out or not sink.has_room_for(size):
                left_out += 1
                continue
            sink.add(name, take)
        except (StoreError, FileNotFoundError):
            if take.exists():
                raise
            continue  # the pedal plays on, and has removed its oldest meanwhile
        takes += 1
    return Given(sessions, takes, left_out)


def pedals_folder(settings: Settings) -> str:
    """A name that no other pedal's folder has, so that one stick serves a whole class."""
    from pedal.log import StoreReader

    if not settings.log.path.is_file():
        return "pedal"
    with StoreReader(settings.log.path) as reader:
        uid = re.sub(r"[^0-9a-zA-Z]", "", reader.pedal_uid())[:8]
    return f"pedal-{uid}" if uid else "pedal"


def _give_log(settings: Settings, sink: Sink) -> int:
    """The export and the page, there by their names once they are whole."""
    from pedal.log import StoreReader
    from pedal.log.sharing import export_sessions
    from pedal.review.page import page_of
    from pedal.review.review import review_of
    from pedal.review.selection import Selection, chosen_sessions
    from pedal.safe_files import writing

    log, everything = settings.log.path, Selection()
    with _a_folder_aside(settings.state.folder, sink) as aside:
        with StoreReader(log) as reader:
            chosen = chosen_sessions(reader.sessions(), everything)
        sessions, _ = export_sessions(log, aside / LOG, chosen)
        _put(aside / LOG, sink)
        with writing(aside / PAGE) as file:
            file.write(page_of(review_of(log, everything, bands=settings.bands, with_pictures=True)))
        _put(aside / PAGE, sink)
    return sessions


def _put(made: Path, sink: Sink) -> None:
    if not sink.has_room_for_made(made):
        size = made.stat().st_size
        raise StoreError(f"There is no room for {made.name} ({size / 1e6:.1f} MB): free some, and try again.")
    sink.add(made.name, made)


@contextmanager
def _a_folder_aside(state: Path, sink: Sink) -> Iterator[Path]:
    """A folder for one copy at a time: of two sticks that are plugged in together the second waits for the first.

    On the stick itself where the pedal may write there: an export is more than twice its log, and must not fill the
    disk that the log lies on.
    """
    try:
        private_folder(state)
        handle = os.open(state, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    except OSError as error:
        raise cannot_be_written(state, error) from error
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        place = sink.place_to_make(state)
        try:
            private_folder(place)
            for left in (*state.glob(f"{_ASIDE}*"), *place.glob(f"{_ASIDE}*")):  # by a power cut, or on a pulled stick
                shutil.rmtree(left, ignore_errors=True)
            aside = Path(tempfile.mkdtemp(dir=place, prefix=_ASIDE))
        except OSError as error:
            raise cannot_be_written(place, error) from error
        try:
            yield aside
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    finally:
        os.close(handle)


def _newest_first(folder: Path) -> Iterator[Path]:
    try:
        yield from reversed(takes_in(folder))
    except OSError:
        return


def own_folder(place: Path) -> Path | None:
    """The folder on a stick or card that is ours, None where nobody made one; never through a link."""
    folder = place / FOLDER
    return folder if folder.is_dir() and not folder.is_symlink() else None
