"""Verdicts -> lines of text, in a thread of its own: a terminal that scrolls slowly holds up nobody."""

from __future__ import annotations

import queue
import threading
from collections import Counter
from collections.abc import Callable

from pedal.live.verdict_lines import word
from pedal.verdicts.verdict import Verdict

QUEUE_VERDICTS = 1024
_PATIENCE_S = 0.1
_ORDER = ("true", "near", "flat", "sharp", "released", "steady", "no bend", "unclear")


class Printer:
    """Counts verdicts, and prints each with `line` if one is given."""

    def __init__(self, line: Callable[[Verdict], str] | None, *, header: str = "") -> None:
        self.dropped = 0
        self._line, self._header = line, header
        self._verdicts: queue.Queue[Verdict] = queue.Queue(QUEUE_VERDICTS)
        self._count: Counter[str] = Counter()

    def tell(self, verdict: Verdict) -> None:
        """Hand a verdict over; never waits. Should nobody read for an hour, lines are dropped and counted."""
        self._count[word(verdict)] += 1
        if self._line is None:
            return
        try:
            self._verdicts.put_nowait(verdict)
        except queue.Full:
            self.dropped += 1

    def work(self, stop: threading.Event) -> None:
        """Print until told to stop and nothing is left."""
        if self._line is None:
            return
        while True:
            try:
                verdict = self._verdicts.get(timeout=_PATIENCE_S)
            except queue.Empty:
                if stop.is_set():
                    return
                continue
            self._print(verdict)

    def _print(self, verdict: Verdict) -> None:
        if self._line is None:
            return
        if self._header:
            print(self._header)  # noqa: T201 - this is what it is for
            self._header = ""
        print(self._line(verdict), flush=True)  # noqa: T201

    def summary(self) -> str:
        """How many notes, and how many of each verdict."""
        notes = sum(self._count.values())
        if not notes:
            return "no note was heard"
        counts = ", ".join(f"{self._count[each]} {each}" for each in _ORDER if self._count[each])
        return f"{notes} {'note' if notes == 1 else 'notes'}: {counts}"
