"""Sentences for whoever looks at standard error: at once, or, while a picture fills the terminal, afterwards."""

from __future__ import annotations

import sys

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
