"""What was lost on the way, in one sentence: for the service manager's status, the journal and the end."""

from __future__ import annotations

from pedal.values import frozen


@frozen
class Counts:
    """All from the start of the session.

    gaps, lost_s : places where samples are missing, and how many seconds of them.
    overflows : of the gaps, those that the driver made because we came too late.
    dropped_blocks : blocks that the hearing had no time for.
    dropped_lines, dropped_entries, dropped_takes : what was not printed, not logged, not kept as a take.
    """

    gaps: int = 0
    lost_s: float = 0.0
    overflows: int = 0
    dropped_blocks: int = 0
    dropped_lines: int = 0
    dropped_entries: int = 0
    dropped_takes: int = 0

    @property
    def total(self) -> int:
        """Losses of any kind; overflows and dropped blocks are known by the gaps that they make."""
        return self.gaps + self.dropped_lines + self.dropped_entries + self.dropped_takes

    def sentence(self) -> str:
        """What was lost; "nothing was lost" if nothing was."""
        parts = []
        if self.gaps:
            why = [
                f"{number} {word}"
                for number, word in (
                    (self.overflows, _plural("overflow", self.overflows)),
                    (self.dropped_blocks, f"{_plural('block', self.dropped_blocks)} dropped"),
                )
                if number
            ]
            parts.append(f"{self.lost_s:.2f} s of sound lost in {self.gaps} {_plural('gap', self.gaps)}")
            parts[-1] += f" ({', '.join(why)})" if why else ""
        for number, word in (
            (self.dropped_entries, "log entry"),
            (self.dropped_lines, "printed line"),
            (self.dropped_takes, "take"),
        ):
            if number:
                parts.append(f"{number} {_plural(word, number)} lost")
        return "; ".join(parts) if parts else "nothing was lost"


def _plural(word: str, number: int) -> str:
    if number == 1:
        return word
    return f"{word[:-1]}ies" if word.endswith("ry") else f"{word}s"
