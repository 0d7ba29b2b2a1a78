"""The model while it is played: begun by a held switch, ended by silence, by its length, or by the foot that leaves."""

from __future__ import annotations

from collections.abc import Sequence

from pedal.licks.heard import HeardNote
from pedal.licks.lick import FEWEST, LONGEST_S
from pedal.licks.passes import SILENCE_S

WAITS_S = 15.0
"""So long without a first note, and the pedal no longer waits for one."""


class Recording:
    """`.hear(note)` takes notes; `.over(now_s, sounding)` says whether it has ended by now."""

    def __init__(self, now_s: float) -> None:
        self.notes: list[HeardNote] = []
        self._begun_s, self._let_go = now_s, False

    def hear(self, note: HeardNote) -> None:
        """One more note; what sounded before the foot came down is none of it."""
        if note.onset_s >= self._begun_s:
            self.notes.append(note)

    def let_go(self, *, sounding: bool) -> None:
        """The foot has left. Before a second note that ends nothing: not everybody can play on one leg."""
        self._let_go = len(self.notes) + sounding >= FEWEST

    def too_long(self, now_s: float) -> bool:
        """Whether it goes on for longer than a model may be."""
        return bool(self.notes) and now_s - self.notes[0].onset_s > LONGEST_S + SILENCE_S

    def over(self, now_s: float, *, sounding: bool) -> bool:
        """After a silence, 15 s of notes, or the last note under a foot that left; after long waiting in any case."""
        if not self.notes:
            return not sounding and now_s - self._begun_s >= WAITS_S
        if self.too_long(now_s):
            return True
        silent_s = now_s - self.notes[-1].end_s
        return not sounding and (silent_s >= SILENCE_S or self._let_go)


def what_was_heard(notes: Sequence[HeardNote]) -> str:
    """For the close density while recording: how many notes so far."""
    return "1 note" if len(notes) == 1 else f"{len(notes)} notes"
