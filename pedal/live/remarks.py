"""Sentences for standard error, at once or once a picture leaves the terminal; traces of our own faults."""

from __future__ import annotations

import os
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

from pedal.safe_text import clean


class Remarks:
    """`say` prints, or keeps while `held`; `release` prints what was kept."""

    def __init__(self, *, held: bool) -> None:
        self._held = held
        self._kept: list[str] = []

    def say(self, sentence: str) -> None:
        """Tell the player or the journal."""
        if self._held:
            self._kept.append(sentence)
        else:
            print(f"undertoe: {clean(sentence)}", file=sys.stderr, flush=True)  # noqa: T201 - this is what it is for

    def release(self) -> None:
        """The terminal is free again."""
        self._held = False
        for sentence in self._kept:
            self.say(sentence)
        self._kept = []


FILE_NAME = "faults.txt"
MOST_BYTES = 200_000
"""Beyond this the older half goes."""


class FaultFile:
    """`.add(text)` appends a trace with the date; raises OSError."""

    def __init__(self, path: Path, *, wall: Callable[[], float] = time.time) -> None:
        self.path = path
        self._wall = wall

    def add(self, text: str) -> None:
        """Append, for this user's eyes only; never through a link that somebody laid there."""
        self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_NOFOLLOW | os.O_CLOEXEC
        with os.fdopen(os.open(self.path, flags, 0o600), "r+b") as file:
            if os.fstat(file.fileno()).st_size > MOST_BYTES:
                kept = file.read()[-MOST_BYTES // 2 :]
                file.truncate(0)
                file.write(kept)
            date = time.strftime("%Y-%m-%d %H:%M:%S UTC", time.gmtime(self._wall()))
            file.write(f"{date}\n{text}\n".encode(errors="replace"))

    def keep(self, text: str) -> Path | None:
        """The same; the file, or None where it refuses."""
        try:
            self.add(text)
        except OSError:
            return None
        return self.path


class OwnFaults:
    """Tells each fault of ours once: in a sentence, with its trace where it can be sent in from.

    say : tells a sentence to whoever looks at standard error.
    keep : takes a trace; the file it goes to, None if it is kept nowhere, and then it is said as well.
    """

    def __init__(self, say: Callable[[str], None], keep: Callable[[str], Path | None]) -> None:
        self._say, self._keep = say, keep
        self._told: set[tuple[object, ...]] = set()

    def tell(self, part: str, fault: Exception, *, then: str) -> None:
        """A part failed over it, and then? From any thread."""
        place = (part, type(fault), *_lines_of(fault))
        if place in self._told:
            return
        self._told.add(place)
        trace = f"{part}:\n{''.join(traceback.format_exception(fault))}"
        file = self._keep(trace)
        where = f"{file} says where" if file is not None else trace
        words = " ".join("".join(traceback.format_exception_only(fault)).split())
        self._say(f"the part for {part} failed ({words}) and {then}: {where}")


def _lines_of(fault: Exception) -> tuple[tuple[str, int], ...]:
    """Where it came through: the same fault again has the same, whatever the numbers in its words."""
    return tuple((frame.filename, frame.lineno or 0) for frame in traceback.extract_tb(fault.__traceback__))
