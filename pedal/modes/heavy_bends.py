"""Heavy bends of each player within the hour, in whichever mode they were asked for."""

from __future__ import annotations

from collections.abc import Iterable

from pedal.modes.log_entry import LogEntry
from pedal.modes.state import PedalState
from pedal.practice.load import WINDOW_S, Load
from pedal.theory.spelling import parse_pitch


class HeavyBends:
    """`.count(entries, now_s)` takes what was logged; `.load` is that of whoever plays now."""

    def __init__(self, state: PedalState) -> None:
        self._state = state
        self._loads: dict[str, Load] = {}

    @property
    def load(self) -> Load:
        """The heavy bends of the player of now, and how many more may be asked for."""
        return self._of(self._state.player)

    def _of(self, player: str) -> Load:
        return self._loads.setdefault(player, Load(self._state.heavy_most))

    def move(self, state: PedalState) -> None:
        """Another player, tuning or ceiling."""
        self._state = state
        for load in self._loads.values():
            load.most = state.heavy_most

    def count(self, entries: Iterable[LogEntry], now_s: float) -> None:
        """Count bends at a known spot that this guitar, as it is strung and tuned now, makes heavy."""
        for entry in entries:
            if entry.time_s <= now_s - WINDOW_S:
                continue
            if entry.string and entry.fret and entry.target_note and entry.verdict:
                rise = parse_pitch(entry.target_note) - self._fretted(entry.string, entry.fret)
                if self._state.is_heavy(entry.string, entry.fret, rise):
                    self._of(entry.player or "").add(entry.time_s)

    def _fretted(self, string: int, fret: int) -> int:
        open_midi = self._state.neck.tuning.open_midi
        return open_midi[string - 1] + fret if string <= len(open_midi) else 0
