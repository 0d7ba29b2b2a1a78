"""The traces of our own faults in a file beside the log, so that a player can send them in."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

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
