"""A lick that is asked for: notes as they come -> passes, marked as they go. The same in Lick and in a Round."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pedal.licks.forms import AskedNote, Question
from pedal.licks.heard import HeardNote
from pedal.licks.lick import Lick
from pedal.licks.marks import MarkedPass, mark_pass
from pedal.licks.offers import Offer
from pedal.licks.passes import Passes
from pedal.modes.lick_screen import screen_of
from pedal.modes.screen_model import LickScreen, Status
from pedal.modes.state import PedalState
from pedal.practice.score import Outcome
from pedal.values import frozen
from pedal.verdicts.verdict import Verdict

NEARLY = 1
"""A pass with no more wrong notes than this is near."""
OTHER, LOST = "another phrase", "sound was lost: play it again"


@frozen
class PlayedPass:
    """A pass that is over, and the verdict of each of its notes."""

    marked: MarkedPass
    verdicts: Mapping[HeardNote, Verdict]


class LickTry:
    """`.hear(...)`, `.pass_time(...)` and `.leave(...)` give a pass that is over, None while it goes on.

    number, lick : as it is kept, and as it lies in the key of now; None where there is none, and nothing is heard then.
    asked : its notes as `question` asks for them.
    shown : the pass that is shown with its marks, None while one is being played.
    told : what the line says in place of a pass.
    verdicts : of the notes of the pass that goes on.
    """

    def __init__(
        self,
        number: int,
        lick: Lick | None,
        asked: Sequence[AskedNote] = (),
        question: Question = "as_played",
        *,
        told: str = "",
    ) -> None:
        self.number, self.lick, self.told = number, lick, told
        self.shown: MarkedPass | None = None
        self.verdicts: dict[HeardNote, Verdict] = {}
        self._asked, self._question = asked, question
        self._passes = Passes(asked)

    @property
    def playing(self) -> bool:
        """Whether notes of a pass were heard that is not over."""
        return bool(self._passes.notes)

    @property
    def whole(self) -> bool:
        """Whether the pass that goes on has reached its last note."""
        return self._passes.whole

    def clear(self) -> None:
        """Forget what was played, shown and told."""
        self._passes.clear()
        self.verdicts, self.shown, self.told = {}, None, ""

    def hear(self, note: HeardNote, verdict: Verdict, state: PedalState) -> PlayedPass | None:
        """One more note; the pass that it ended, if it did."""
        if self.lick is None:
            return None
        if not self.playing:
            self.told = ""
        over = self._over(self._passes.hear(note), state)
        self.verdicts[note] = verdict
        if self.whole:
            self.shown = self._marked(self._passes.notes, state)
        elif over is None or len(self._passes.notes) > 1:
            self.shown = None
        return over

    def pass_time(self, now_s: float, state: PedalState, *, sounding: bool) -> PlayedPass | None:
        """A silence ends a pass."""
        return self._over(self._passes.pause(now_s, sounding=sounding), state)

    def lose(self) -> None:
        """Sound went missing: a pass with a hole in it is none."""
        if self.playing and not self.whole:
            self.clear()
            self.told = LOST

    def leave(self, state: PedalState) -> PlayedPass | None:
        """The player goes on to something else: a pass that is whole counts, any other is forgotten."""
        if self.whole:
            return self._over(self._passes.finish(), state)
        self._passes.clear()
        self.verdicts = {}
        return None

    def _marked(self, notes: Sequence[HeardNote], state: PedalState) -> MarkedPass:
        return mark_pass(self._asked, notes, question=self._question, key=state.key, bands=state.bands_now)

    def _over(self, notes: Sequence[HeardNote] | None, state: PedalState) -> PlayedPass | None:
        if notes is None:
            return None
        played = self.verdicts
        self.verdicts = {note: played[note] for note in self._passes.notes if note in played}
        marked = self._marked(notes, state)
        self.shown, self.told = (marked, "") if marked.known else (None, OTHER)
        return PlayedPass(marked, played)

    def screen(
        self, status: Status, state: PedalState, title: str, *, sounding: bool, offer: Offer | None = None
    ) -> LickScreen:
        """What is asked, how far it has come, what became of it. The first note counts from its pluck."""
        goes_on = not self.whole and (self.playing or sounding)
        return screen_of(
            status,
            self._asked,
            marked=self.shown,
            question=self._question,
            offer=offer,
            reached=self._passes.reached if goes_on else None,
            title=title,
            told=self.told,
            key=state.key,
        )


def outcome_of(marked: MarkedPass) -> Outcome:
    """Right is every note of it; what was added between them is told, and forgiven."""
    wrong = marked.of - marked.right
    return "true" if not wrong else "near" if wrong <= NEARLY else "missed"
