"""Blind: pre-bends against a drone. Nothing is shown before the pluck; then the first pitch's error, and the spread.

The target stays until the player moves on, because the spread over repeats is what a remembering hand is measured by.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pedal.modes.card import card_of, is_try, other_note_card
from pedal.modes.going_back import Way, by_force
from pedal.modes.history import History
from pedal.modes.input_events import Action, Heard, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import Memory
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import BlindScreen, MessageScreen, Status, VerdictCard
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.notes.event import Onset
from pedal.progress.need import bias_of, spread_of
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict


class Blind(Mode):
    """One target of the position at a time. `tried` feeds the order by need."""

    name: ModeName = "blind"
    judge_as: JudgeAs = "blind"
    wants_drone = True

    def __init__(self, state: PedalState, string: StringNow, history: History) -> None:
        self._string, self._history = string, history
        self._now_s = 0.0
        self._start(state)

    def _start(self, state: PedalState) -> None:
        self._state = state
        self._rungs = state.rungs()
        self._errors: dict[int, list[float]] = {}
        self._way = Way()
        self._ask(self._choose(None))

    def _ask(self, index: int | None) -> None:
        self._index = index
        self._meant_before = self._string.sounding  # what sounds now was plucked for the target before
        self._wait()

    def _wait(self) -> None:
        self._card: VerdictCard | None = None
        self._waiting = True

    @property
    def rung(self) -> Rung | None:
        """The pre-bend asked for; None where the neck holds none, or all are crossed off."""
        return None if self._index is None else self._rungs[self._index]

    def _open(self) -> Sequence[int]:
        return [i for i, rung in enumerate(self._rungs) if rung.crossing not in self._state.crossed_off]

    def move(self, state: PedalState) -> None:
        """Another key, neck or position brings other targets; one crossed off gives way to the next."""
        if not state.same_bends(self._state):
            self._start(state)
            return
        if not state.same_forces(self._state):
            self._rungs = state.rungs()
        self._state = state
        if self._index not in self._open():
            self._way.leave(self._index)
            self._ask(self._choose(self._index))

    def lamp_word(self, verdict: Verdict) -> str:
        """The judge's word for a try at the target."""
        return "" if self._meant_before or not self._is_try(verdict) else verdict.verdict

    def _is_try(self, verdict: Verdict) -> bool:
        """Not where it was bent after a hammer-on, by ear."""
        return self.rung is not None and verdict.kind.startswith("prebend") and is_try(verdict, self.rung)

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """A pluck takes the last verdict away; a pre-bend of the target is shown, counted and logged."""
        if isinstance(heard, LivePitch):
            self._now_s = heard.time_s
        elif isinstance(heard, Onset):
            self._meant_before = False
            self._wait()
        if not isinstance(heard, Verdict) or self.rung is None or self._index is None or heard.kind == "steady":
            return ()
        if self._meant_before:
            return ()
        self._waiting = False
        if not self._is_try(heard):
            self._card = other_note_card(heard, self.rung)
            return ()
        self._card = card_of(heard)
        if heard.error_cents is not None:
            self._errors.setdefault(self._index, []).append(heard.error_cents)
        return (self._state.entry("blind", heard, rung=self.rung),)

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`next_target` and `skip` move on, `previous_target` goes back one, `again` forgets this target's repeats."""
        match action:
            case "next_target" | "skip":
                self._way.leave(self._index)
                self._ask(self._choose(self._index))
            case "previous_target":
                self._step_back()
            case "again" if self._index is not None:
                self._errors.pop(self._index, None)
                self._wait()
            case _:
                pass
        return ()

    def _step_back(self) -> None:
        """Before the first one of the order is its last one: a ring."""
        there, order = self._open(), self._state.order
        before = self._way.back(self._index, self._rungs, there, order)
        before = self._way.back(None, self._rungs, there, order) if before is None else before
        if before is not None:
            self._ask(before)

    def seek(self, string: int, fret: int) -> None:
        """Ask for this target now."""
        found = next((i for i in self._open() if (self._rungs[i].string, self._rungs[i].fret) == (string, fret)), None)
        if found is not None:
            self._way.leave(self._index)
            self._ask(found)

    def _choose(self, now: int | None) -> int | None:
        """The next target, in a ring or by need; None if none is open."""
        rungs = self._open()
        if not rungs:
            return None
        if self._state.order == "in_order":
            return next((i for i in rungs if now is None or i > now), rungs[0])
        if self._state.order == "lightest_first":
            return _heavier(self._rungs, rungs, now)
        return self._history.neediest_of(self._rungs, rungs, "blind", now_s=self._now_s, just_played=now)

    def remember(self) -> Memory:
        """Number of the target among the bends of the position, from 0."""
        return {"blind": self._index or 0}

    def recall(self, memory: Mapping[str, object]) -> None:
        """Go on at the remembered target; one that is damaged, or crossed off by now, changes nothing."""
        index = memory.get("blind")
        if isinstance(index, int) and not isinstance(index, bool) and index in self._open():
            self._index = index

    def screen(self, status: Status) -> BlindScreen | MessageScreen:
        """The target before the pluck, the verdict after it."""
        rung = self.rung
        if rung is None or self._index is None:
            missing = "has no bend" if self._state.holds_position else "does not fit the neck"
            reason = "all are crossed off" if self._rungs else missing
            return MessageScreen("NO TARGET", (f"position {self._state.position}", reason))
        errors = self._errors.get(self._index, [])
        return BlindScreen(
            status,
            target=rung.target,
            string=rung.string,
            fret=rung.fret,
            waiting=self._waiting,
            verdict=self._card,
            tries=len(errors),
            bias_cents=bias_of(errors),
            spread_cents=spread_of(errors),
        )


def _heavier(rungs: Sequence[Rung], open_rungs: Sequence[int], now: int | None) -> int:
    """The next one by force, in a ring from the lightest to the heaviest."""
    ordered = by_force(rungs, open_rungs)
    if now is None:
        return ordered[0]
    return next((i for i in ordered if (rungs[i].force_n, i) > (rungs[now].force_n, now)), ordered[0])
