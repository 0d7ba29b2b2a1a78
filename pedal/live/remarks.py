"""Sentences for standard error, at once or once a picture leaves the terminal; traces of our own faults for a file."""

from __future__ import annotations

import os
import sys
import time
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
