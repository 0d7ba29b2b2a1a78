"""Notes as they come -> passes: where one ends and the next begins, and which note was reached."""

from __future__ import annotations

from collections.abc import Sequence

from pedal.licks.forms import AskedNote
from pedal.licks.heard import HeardNote
from pedal.licks.match import JOINED, Match, match

SILENCE_S = 1.5
"""So long without a note ends a model, and a pass unless the lick itself is silent for longer."""
SLOWEST_PASS = 2.2
"""A pass at half the tempo has rests twice as long, and a little more."""
ANEW_PRICE = 1.0
"""Two passes, the first broken off, must explain the notes so much better than one."""
LATEST_STARTS = 3
MOST_HEARD = 72
FEWEST_HEARD = 2


class Passes:
    """`.hear(note)` and `.pause(now_s, sounding)` give a pass that is over, None while it goes on.

    A pass is over after a silence; when the lick was played to its end and its first note comes again; and when the
    player stops short and begins anew. One note alone is no pass.
    """

    def __init__(self, asked: Sequence[AskedNote]) -> None:
        self._asked = tuple(asked)
        self.silence_s = max(SILENCE_S, SLOWEST_PASS * _longest_rest_s(self._asked))
        self.notes: list[HeardNote] = []
        self._silent_from_s = 0.0
        self.reached = 0
        """The asked note that comes next, from 0."""
        self.whole = False
        """Whether the last asked note was played."""

    def clear(self) -> None:
        """Forget what was played of this pass."""
        self.notes, self.reached, self.whole = [], 0, False

    def hear(self, note: HeardNote) -> tuple[HeardNote, ...] | None:
        """One more note; the pass before it, if it begins another one."""
        over = self.pause(note.onset_s, sounding=False)
        if over is None and self.whole and _alike(self._asked[0], note):
            over = self.finish()
        self._silent_from_s = note.end_s
        if len(self.notes) < MOST_HEARD:
            self.notes.append(note)
            return over or self._look()
        return over

    def pause(self, now_s: float, *, sounding: bool) -> tuple[HeardNote, ...] | None:
        """Time went on; the pass, if it is over by now."""
        if not self.notes or sounding or now_s - self._silent_from_s < self.silence_s:
            return None
        return self.finish()

    def finish(self) -> tuple[HeardNote, ...] | None:
        """The sound is over; None where one note alone was heard."""
        notes = tuple(self.notes)
        self.clear()
        return notes if len(notes) >= FEWEST_HEARD else None

    def _look(self) -> tuple[HeardNote, ...] | None:
        """Where the pass is by now; the notes of one that was broken off, if these are another one's."""
        found = match(self._asked, self.notes, open_end=True)
        broken = None
        start = self._new_start(found) if len(self.notes) > FEWEST_HEARD else None
        if start is not None:
            broken = tuple(self.notes[:start])
            self.notes = self.notes[start:]
            found = match(self._asked, self.notes, open_end=True)
        self.reached = _reached(found)
        last = next((p for p in reversed(found.pairings) if p.asked), None)
        agreed = last is not None and bool(last.heard) and last.price <= JOINED
        self.whole = agreed and self.reached == len(self._asked)
        return broken if broken is not None and len(broken) >= FEWEST_HEARD else None

    def _new_start(self, found: Match) -> int | None:
        """Where the player began anew, if that explains the notes better than one pass does."""
        if found.price < ANEW_PRICE:
            return None
        starts = [n for n in range(1, len(self.notes) - 1) if _alike(self._asked[0], self.notes[n])]
        prices = {}
        for start in starts[-LATEST_STARTS:]:
            before = match(self._asked, self.notes[:start], open_end=True).price
            prices[start] = before + match(self._asked, self.notes[start:], open_end=True).price
        best = min(prices, key=lambda start: prices[start], default=None)
        return best if best is not None and found.price - prices[best] >= ANEW_PRICE else None


def _longest_rest_s(asked: Sequence[AskedNote]) -> float:
    rests = (one.gap_s * one.note.rest_beats / (one.note.beats + one.note.rest_beats) for one in asked[:-1])
    return max(rests, default=0.0)


def _reached(found: Match) -> int:
    return max((pairing.asked[-1] + 1 for pairing in found.pairings if pairing.asked and pairing.heard), default=0)


def _alike(asked: AskedNote, heard: HeardNote) -> bool:
    return bool(heard.sounds) and (asked.note.sounds[0] == heard.sounds[0] or asked.note.midi == heard.midi)
