"""A lick that a Round asks for: notes as they come -> passes, each right, nearly right or not."""

from __future__ import annotations

from pedal.licks.forms import asked
from pedal.licks.heard import HeardNote, heard_note
from pedal.licks.lick import Lick
from pedal.licks.marks import MarkedPass, mark_pass
from pedal.licks.passes import Passes
from pedal.modes.lick_log import PassNumbers, pass_entries
from pedal.modes.lick_screen import screen_of
from pedal.modes.log_entry import LogEntry
from pedal.modes.screen_model import LickScreen, Status
from pedal.modes.state import PedalState
from pedal.practice.score import Outcome
from pedal.verdicts.verdict import Verdict

NEARLY = 1
"""A pass with no more wrong notes than this is near."""
OTHER, LOST = "another phrase", "sound was lost: play it again"


class LickTry:
    """`.hear(verdict)` and `.pass_time(...)` give a pass that is over, None while it goes on."""

    def __init__(self, number: int, lick: Lick) -> None:
        self.number, self.lick = number, lick
        self._asked = asked(lick, "as_played")
        self._passes = Passes(self._asked)
        self._verdicts: dict[HeardNote, Verdict] = {}
        self._shown: MarkedPass | None = None
        self._told = ""

    @property
    def playing(self) -> bool:
        """Whether notes of a pass were heard that is not over."""
        return bool(self._passes.notes)

    def clear(self) -> None:
        """Forget what was played."""
        self._passes.clear()
        self._verdicts, self._shown, self._told = {}, None, ""

    def hear(self, verdict: Verdict, state: PedalState) -> MarkedPass | None:
        """One more note; the pass that it ended, if it did."""
        note = heard_note(verdict)
        if note is None:
            return None
        if not self._passes.notes:
            self._told = ""
        over = self._finish(self._passes.hear(note), state)
        self._verdicts[note] = verdict
        if self._passes.whole:
            self._shown = self._marked(tuple(self._passes.notes), state)
        elif over is None or len(self._passes.notes) > 1:
            self._shown = None
        return over

    def pass_time(self, now_s: float, state: PedalState, *, sounding: bool, lost: bool) -> MarkedPass | None:
        """A silence ends a pass; sound that is lost spoils it."""
        if lost and self._passes.notes and not self._passes.whole:
            self.clear()
            self._told = LOST
        return self._finish(self._passes.pause(now_s, sounding=sounding), state)

    def finish(self, state: PedalState) -> MarkedPass | None:
        """The player goes on to something else: a pass that is whole counts."""
        return self._finish(self._passes.finish(), state) if self._passes.whole else None

    def _marked(self, notes: tuple[HeardNote, ...], state: PedalState) -> MarkedPass:
        return mark_pass(self._asked, notes, question="as_played", key=state.key, bands=state.bands_now)

    def _finish(self, notes: tuple[HeardNote, ...] | None, state: PedalState) -> MarkedPass | None:
        if notes is None:
            return None
        marked = self._marked(notes, state)
        if not marked.known:
            self._shown, self._told, self._verdicts = None, OTHER, {}
            return None
        self._shown, self._told = marked, ""
        return marked

    def entries(self, marked: MarkedPass, state: PedalState, numbers: PassNumbers) -> tuple[LogEntry, ...]:
        """The lines of a pass that is over."""
        verdicts, self._verdicts = self._verdicts, {}
        return pass_entries(marked, verdicts, self.lick, state, mode="round", numbers=numbers)

    def screen(self, status: Status, state: PedalState, *, sounding: bool) -> LickScreen:
        """The strip as in Lick: what is asked, how far it has come, what became of it."""
        goes_on = not self._passes.whole and (self.playing or sounding)
        return screen_of(
            status,
            self._asked,
            marked=self._shown,
            question="as_played",
            offer=None,
            keeps=False,
            reached=self._passes.reached if goes_on else None,
            title=f"lick {self.number}",
            told=self._told,
            key=state.key,
        )


def outcome_of(marked: MarkedPass) -> Outcome:
    """Right is every note of it; what was added between them is told, and forgiven."""
    wrong = marked.of - marked.right
    return "true" if not wrong else "near" if wrong <= NEARLY else "missed"
