"""Heavy bends of each player within the hour, in whichever mode they were asked for."""

from __future__ import annotations

from collections.abc import Iterable

from pedal.modes.lick_choice import heavy_notes, model_of
from pedal.modes.lick_log import logged_name
from pedal.modes.log_entry import LogEntry
from pedal.modes.state import PedalState
from pedal.practice.load import WINDOW_S, Load
from pedal.progress.logged_note import SKILL_OF_KIND
from pedal.progress.naming import folded
from pedal.verdicts.verdict import Verdict


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
        return self._loads.setdefault(folded(player), Load(self._state.heavy_most))

    def move(self, state: PedalState) -> None:
        """Another player, tuning or ceiling."""
        self._state = state
        for load in self._loads.values():
            load.most = state.heavy_most

    def count(self, entries: Iterable[LogEntry], now_s: float) -> None:
        """Count what this guitar, strung and tuned as it is, makes heavy: bends at a known spot, and of kept licks."""
        for entry in entries:
            if entry.verdict and entry.time_s > now_s - WINDOW_S and self._is_heavy(entry, entry.verdict):
                self._of(entry.player or "").add(entry.time_s)

    def _is_heavy(self, entry: LogEntry, verdict: Verdict) -> bool:
        if entry.lick and entry.lick_note:
            bent = SKILL_OF_KIND.get(verdict.kind) in ("bend", "prebend")
            return bent and entry.lick_note - 1 in self._heavy_notes(entry.lick)
        rise = entry.asked_semitones
        if not (entry.string and entry.fret) or rise is None:
            return False
        return self._state.is_heavy(entry.string, entry.fret, rise)

    def _heavy_notes(self, name: str) -> frozenset[int]:
        """Of a lick by its name in the log; none of one that is not kept under it."""
        state = self._state
        licks = (model_of(state, one.number) for one in state.licks)
        lick = next((lick for lick in licks if lick is not None and logged_name(lick) == name), None)
        return frozenset() if lick is None else heavy_notes(lick, state)
