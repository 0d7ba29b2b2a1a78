"""How many in a row: the count now and the best of the session."""

from __future__ import annotations

from pedal.values import frozen
from pedal.verdicts.verdict import Word


@frozen
class Streak:
    """`now` in a row, `best` so far."""

    now: int = 0
    best: int = 0

    def after(self, word: Word) -> Streak:
        """True adds one, near keeps the count, flat, sharp and released lose it; unclear proves nothing."""
        match word:
            case "true":
                return Streak(self.now + 1, max(self.best, self.now + 1))
            case "near" | "unclear":
                return self
            case "flat" | "sharp" | "released":
                return Streak(0, self.best)
