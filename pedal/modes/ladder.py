"""Ladder: every bend of a position, rung after rung; a try or a skip moves on, after the last one comes the summary.

Where the player wishes so, a rung stays until it was true, or missed as often as a hand should.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from pedal.modes.card import card_of, is_try, other_note_card
from pedal.modes.going_back import Way, by_force
from pedal.modes.history import History
from pedal.modes.input_events import Action, Heard, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import Memory
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import LadderScreen, LadderSummaryScreen, MessageScreen, RungMark, Status, VerdictCard
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.notes.event import Onset
from pedal.practice.score import MOST_MISSES
from pedal.progress.need import bias_of, spread_of
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict, Word

_MARK_OF: dict[Word, RungMark] = {
    "true": "true",
    "near": "near",
    "flat": "missed",
    "sharp": "missed",
    "released": "missed",
}
LAST_VERDICT_S = 4.0
"""The last verdict stays so long before the sum: a look, and a long press for a bend that hurt."""


class Ladder(Mode):
    """The rungs of one position, their marks, and which one is asked for. `tried` feeds the order by need."""

    name: ModeName = "ladder"
    judge_as: JudgeAs = "ladder"

    def __init__(self, state: PedalState, string: StringNow, history: History) -> None:
        self._string, self._history = string, history
        self._now_s = self._judged_s = 0.0
        self._start(state)

    def _start(self, state: PedalState) -> None:
        self._state = state
        self._rungs = state.rungs()
        self._marks: list[RungMark] = [
            "crossed" if rung.crossing in state.crossed_off else "open" for rung in self._rungs
        ]
        self._errors: dict[int, float] = {}
        self._card: VerdictCard | None = None
        self._misses = 0
        self._way = Way()
        self._index: int | None = self._choose(-1)
        self._last = self._index

    @property
    def rung(self) -> Rung | None:
        """The bend asked for now; None once the ladder is climbed."""
        return None if self._index is None else self._rungs[self._index]

    @property
    def rung_shown(self) -> Rung | None:
        """The bend that the screen is about: the last one as long as its verdict is shown."""
        shown = self._shown
        return None if shown is None else self._rungs[shown]

    @property
    def _shown(self) -> int | None:
        return self._last if self._lingers else self._index

    @property
    def _lingers(self) -> bool:
        """The ladder is climbed, and the screen stays with the last verdict for a while."""
        fresh = self._now_s - self._judged_s < LAST_VERDICT_S
        return self._index is None and self._last is not None and self._card is not None and fresh

    def give_up(self) -> None:
        """A pluck or a press: the last verdict makes room for the sum."""
        if self._index is None:
            self._card = None

    def move(self, state: PedalState) -> None:
        """Another key, neck or position starts a new ladder; a rung crossed off is left for the next one."""
        if not state.same_bends(self._state):
            self._start(state)
            return
        if not state.same_forces(self._state):
            self._rungs = state.rungs()
        self._state = state
        for index, rung in enumerate(self._rungs):
            if rung.crossing in state.crossed_off:
                self._marks[index] = "crossed"
            elif self._marks[index] == "crossed":
                self._marks[index] = "open"
        if self._index is None or self._marks[self._index] == "crossed":
            self._climb()

    def lamp_word(self, verdict: Verdict) -> str:
        """The judge's word for a try at the rung."""
        return verdict.verdict if self.rung is not None and is_try(verdict, self.rung) else ""

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """A try marks the rung and shows the next, anything else leaves it open."""
        if isinstance(heard, LivePitch):
            self._now_s = heard.time_s
        if isinstance(heard, Onset):
            self.give_up()
        if not isinstance(heard, Verdict) or heard.kind == "steady" or self.rung is None or self._index is None:
            return ()
        if not is_try(heard, self.rung):
            self._card = other_note_card(heard, self.rung)
            return ()
        entry = self._state.entry("ladder", heard, rung=self.rung)
        mark = self._marks[self._index] = _MARK_OF[heard.verdict]
        if heard.error_cents is not None:
            self._errors[self._index] = heard.error_cents
        self._card, self._last, self._judged_s = card_of(heard), self._index, self._now_s
        self._misses = self._misses + 1 if mark != "true" else 0
        if self._state.repeat and 0 < self._misses < MOST_MISSES:
            self._string.clear_notch()  # the rung stays until it is true
        else:
            self._climb()
        return (entry,)

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`skip` and `next_target` pass a rung over, `previous_target` goes back one, `again` repeats the last.

        A bend that was crossed off in between is not asked for again. While the last verdict is shown, what would pass
        a rung over brings the sum: nobody has seen it yet.
        """
        match action:
            case "skip" | "next_target" if self._lingers:
                self.give_up()
            case "skip" | "next_target":
                return self._skip()
            case "previous_target":
                self._step_back()
            case "again" if self._index is None and not self._lingers:
                self._start(self._state)
            case "again":
                if self._last is not None and self._marks[self._last] != "crossed":
                    self._index = self._last
                self._card = None
            case _:
                pass
        return ()

    def _skip(self) -> tuple[LogEntry, ...]:
        if self.rung is None or self._index is None:
            self._start(self._state)
            return ()
        skipped: tuple[LogEntry, ...] = ()
        if self._marks[self._index] == "open":
            self._marks[self._index] = "skipped"
            skipped = (self._state.skipped("ladder", self.rung, time_s=self._now_s),)
        self._card, self._last = None, self._index
        self._climb()
        return skipped

    def _step_back(self) -> None:
        there = [i for i, mark in enumerate(self._marks) if mark != "crossed"]
        before = self._way.back(self._index, self._rungs, there, self._state.order)
        if before is not None:
            self._ask(before)

    def _climb(self) -> None:
        self._misses = 0
        self._way.leave(self._index)
        self._index = self._choose(-1 if self._index is None else self._index)
        self._string.clear_notch()

    def seek(self, string: int, fret: int) -> None:
        """Ask for this rung now, whatever became of it before."""
        found = next((i for i, rung in enumerate(self._rungs) if (rung.string, rung.fret) == (string, fret)), None)
        if found is not None and self._marks[found] != "crossed":
            self._way.leave(self._index)
            self._ask(found)

    def _ask(self, index: int) -> None:
        self._index, self._last, self._card, self._misses = index, index, None, 0
        self._string.clear_notch()

    def _choose(self, after: int) -> int | None:
        """The next open rung: the one above, or the neediest; None if none is open."""
        open_rungs = [i for i, mark in enumerate(self._marks) if mark == "open"]
        if not open_rungs:
            return None
        if self._state.order == "in_order":
            return next((i for i in open_rungs if i > after), open_rungs[0])
        if self._state.order == "lightest_first":
            return by_force(self._rungs, open_rungs)[0]
        return self._history.neediest_of(self._rungs, open_rungs, "ladder", now_s=self._now_s)

    def screen(self, status: Status) -> LadderScreen | LadderSummaryScreen | MessageScreen:
        """The rung asked for, or the summary of the position."""
        if not self._rungs:
            there = f"position {self._state.position}"
            if self._state.holds_position:
                return MessageScreen("NO BEND", (there, "has no bend"))
            return MessageScreen("NO ROOM", (there, "does not fit the neck"))
        shown = self._shown
        if shown is None:
            return self._summary(status)
        rung = self._rungs[shown]
        return LadderScreen(
            status,
            position=self._state.position,
            index=shown,
            rungs=tuple(self._marks),
            string=rung.string,
            fret=rung.fret,
            note=rung.note,
            target=rung.target,
            support=rung.support,
            picture=self._string.picture(self._state, rung.aim),
            verdict=self._card,
            climbed=self._index is None,
        )

    def _summary(self, status: Status) -> LadderSummaryScreen:
        tried = [i for i, mark in enumerate(self._marks) if mark in ("true", "near", "missed")]
        errors = {i: self._errors[i] for i in tried if i in self._errors}
        worst = max(errors, key=lambda i: abs(errors[i]), default=None)
        return LadderSummaryScreen(
            status,
            position=self._state.position,
            rungs=tuple(self._marks),
            true_count=self._marks.count("true"),
            tried_count=len(tried),
            bias_cents=bias_of(list(errors.values())),
            spread_cents=spread_of(list(errors.values())),
            worst="" if worst is None else f"{self._rungs[worst].target} {round(errors[worst]):+d}",
        )

    def remember(self) -> Memory:
        """The rung asked for (one past the last, once the ladder is climbed), the marks, and of which bends."""
        index = len(self._rungs) if self._index is None else self._index
        return {"rung": index, "rungs": " ".join(self._marks), "rungs_of": self._bends}

    @property
    def _bends(self) -> str:
        return " ".join(f"{rung.string}/{rung.note}/{rung.target}" for rung in self._rungs)

    def recall(self, memory: Mapping[str, object]) -> None:
        """Go on where the memory left off; one that is damaged or belongs to another ladder changes nothing."""
        if memory.get("rungs_of", self._bends) != self._bends:
            return
        index, marks = memory.get("rung"), memory.get("rungs")
        words = marks.split() if isinstance(marks, str) else []
        known: dict[str, RungMark] = {word: word for word in get_args(RungMark)}
        if not isinstance(index, int) or len(words) != len(self._rungs) or not all(word in known for word in words):
            return
        self._marks = [known[word] for word in words]
        self._index = index if 0 <= index < len(words) else None
        self._last = self._index
        self.move(self._state)
