"""Where the pedal was before the power went: a few words in a file that is never half written."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pedal.modes.memory import Memory
from pedal.safe_files import keep_the_name, private_file, private_folder

FILE_NAME = "remembered.json"
_LARGEST_BYTES = 65_536


class MemoryFile:
    """The file of one pedal. A damaged one is ignored, with a sentence that says so in `note`.

    given : what the settings say of the same words. It is kept beside them: a setting that was changed since then is
        what the player wants now, and is not overruled by what the pedal remembers.
    """

    def __init__(self, path: Path, given: Memory) -> None:
        self._path, self._given = path, given
        self._written: dict[str, Memory] | None = None
        self.note = ""

    def load(self) -> Memory:
        """What was remembered and still holds; empty if nothing was, or if the file is damaged."""
        try:
            with self._path.open("rb") as file:
                kept = _read(file.read(_LARGEST_BYTES))
        except FileNotFoundError:
            return {}
        except (OSError, ValueError, RecursionError) as fault:
            self.note = f"{self._path} cannot be read ({fault}): starting as new"
            return {}
        self._written = kept
        return still_holding(kept["memory"], then=kept["given"], now=self._given)

    def save(self, memory: Memory) -> None:
        """Keep the words if they changed: written aside, forced to the disk, renamed. OSError if that fails."""
        kept = {"given": self._given, "memory": dict(memory)}
        if kept == self._written:
            return
        private_folder(self._path.parent)
        aside = self._path.with_name(self._path.name + ".new")
        aside.unlink(missing_ok=True)  # what a power cut left, or a link that somebody put there
        with os.fdopen(private_file(aside), "w") as file:
            json.dump(kept, file)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(self._path)
        keep_the_name(self._path.parent)
        self._written = kept


def still_holding(memory: Memory, *, then: Memory, now: Memory) -> Memory:
    """The remembered words whose settings are now what they were then."""
    return {name: word for name, word in memory.items() if then.get(name) == now.get(name)}


def _read(raw: bytes) -> dict[str, Memory]:
    kept: Any = json.loads(raw.decode())
    return {
        part: _plain_words(kept[part] if isinstance(kept, Mapping) and part in kept else None)
        for part in ("given", "memory")
    }


def _plain_words(words: Any) -> Memory:
    if not isinstance(words, dict) or not all(isinstance(word, str | int | float) for word in words.values()):
        raise ValueError("it holds no plain words")
    return words
