"""The session so far, by target: what the next choice by need and the look back are made from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from pedal.modes.log_entry import LogEntry
from pedal.modes.rungs import Rung
from pedal.progress.need import RECENT, Try

Spot = tuple[int, int, str]
"""String, fret and target note: one bend of one key, however it was practised."""


def spot_of(rung: Rung) -> Spot:
    """The name under which tries of a rung are counted."""
    return rung.string, rung.fret, rung.target


class History:
    """`.add(entries)` keeps the last tries of each spot, each mode apart: a pre-bend is another skill than a bend."""

    def __init__(self, past: Iterable[LogEntry] = ()) -> None:
        self._by_mode: dict[str, dict[Spot, list[Try]]] = defaultdict(lambda: defaultdict(list))
        self.add(past)

    def add(self, entries: Iterable[LogEntry]) -> None:
        """Count what was judged with an error at a known spot; skips and refusals teach nothing of the hand."""
        for entry in entries:
            if entry.string is None or entry.fret is None or entry.target_note is None or entry.verdict is None:
                continue
            if entry.verdict.error_cents is None or entry.verdict.verdict == "unclear":
                continue
            tries = self._by_mode[entry.mode][entry.string, entry.fret, entry.target_note]
            tries.append(Try(entry.time_s, entry.verdict.error_cents))
            del tries[:-RECENT]

    def tries(self, mode: str) -> Mapping[Spot, Sequence[Try]]:
        """The tries of a mode, oldest first."""
        return self._by_mode[mode]
