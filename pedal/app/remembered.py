"""Where the pedal was before the power went: a few words in a file that is never half written."""

from __future__ import annotations

import json
import os
from pathlib import Path

Memory = dict[str, str | int | float | bool]
"""Plain words to remember; `Board.memory()` says which."""

_LARGEST_BYTES = 65_536


class Remembered:
    """The file of one pedal. A damaged one is ignored, with a sentence that says so in `note`."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._written: Memory | None = None
        self.note = ""

    def load(self) -> Memory:
        """What was remembered; empty if nothing was, or if the file is damaged."""
        try:
            with self._path.open("rb") as file:
                words = _plain_words(file.read(_LARGEST_BYTES))
        except FileNotFoundError:
            return {}
        except (OSError, ValueError, RecursionError) as fault:
            self.note = f"{self._path} is not readable ({fault}): starting as new"
            return {}
        self._written = words
        return dict(words)

    def save(self, memory: Memory) -> None:
        """Keep the words if they changed: written aside, forced to the disk, renamed. OSError if that fails."""
        if memory == self._written:
            return
        self._path.parent.mkdir(parents=True, exist_ok=True)
        aside = self._path.with_name(self._path.name + ".new")
        with os.fdopen(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
            json.dump(memory, file)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(self._path)
        folder = os.open(self._path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)  # the rename itself outlives a power cut
        finally:
            os.close(folder)
        self._written = dict(memory)


def _plain_words(raw: bytes) -> Memory:
    words = json.loads(raw.decode())
    if not isinstance(words, dict) or not all(isinstance(word, str | int | float) for word in words.values()):
        raise ValueError("it holds no plain words")
    return words
