"""Round: a practice of five, ten or twenty minutes that asks for one thing after another, rests, and ends.

What is asked for, and when, is `pedal.practice`; here its time runs, notes are held against what is asked, and the
heavy ones are counted. The time of a Round is the time in this mode while somebody plays: it stands still elsewhere,
and after a minute without a note.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from pedal.licks.forms import asked
from pedal.licks.heard import heard_note
from pedal.modes.assignments import homework_items, task_of
from pedal.modes.backing_now import BackingNow
from pedal.modes.heavy_bends import HeavyBends
from pedal.modes.history import History
from pedal.modes.input_events import Action, Heard, LivePitch
from pedal.modes.item_try import hold_against, rung_of
from pedal.modes.lick_choice import lick_of, log_name_of, model_of, round_lick
from pedal.modes.lick_log import LickHistory, PassNumbers, pass_entries
from pedal.modes.lick_try import LickTry, PlayedPass, outcome_of
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import Memory
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.rungs import Crossing, Rung
from pedal.modes.screen_model import (
    LickScreen,
    MessageScreen,
    RoundEndScreen,
    RoundLickScreen,
    RoundRestScreen,
    RoundScreen,
    RoundStartScreen,
    ScreenModel,
    Status,
    TryMark,
    VerdictCard,
)
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.notes.event import Onset
from pedal.practice.closing import Line, closing_lines
from pedal.practice.course import Course, State
from pedal.practice.homework import Progress
from pedal.practice.item import Item, ItemName, Part, between, item_named
from pedal.practice.score import Outcome
from pedal.practice.state_words import state_of, words_of
from pedal.progress.logged_note import SKILL_OF_KIND
from pedal.progress.need import Try, need_of
from pedal.values import frozen
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict

PAUSE_AFTER_S = 60.0
STEP_MOST_S = 1.0
"""A longer step of the clock was no playing: another mode, or an input that was gone."""
PAGE_S = 5.0
"""How long a glance sees each of the three lines."""
HOMEWORK_FIRST = 100.0
"""More need than any bend can have: what a teacher asked for comes first, in its place by force."""
VERDICT_S = 1.5
"""A verdict stays with what it is about for so long, before the next thing is shown; a pluck takes it away."""
_JUDGE: dict[Part, JudgeAs] = {"curl": "curl", "half": "ladder", "bend": "ladder", "prebend": "blind"}
"""As the mode would that the item belongs to; the history counts its tries under the same word."""
_NO_FORCE = {"steady", "slide", "hammer_on"}


@frozen
class _Judged:
    """What was played last, how far it had come then, and what is said of it: a lick's strip, or a verdict."""

    item: Item
    marks: tuple[TryMark, ...]
    shown: VerdictCard | LickScreen
    at_s: float


class Round(Mode):
    """`asked` is what shall be played now: an item, "rest", "end", or None before a Round has begun."""

    name: ModeName = "round"

    def __init__(
        self,
        state: PedalState,
        string: StringNow,
        history: History,
        homework: Progress | None = None,
        *,
        licks: LickHistory | None = None,
        numbers: PassNumbers | None = None,
        backing: BackingNow | None = None,
    ) -> None:
        self._state, self._string, self._history, self._homework = state, string, history, homework
        self._licks = LickHistory() if licks is None else licks
        self._numbers: PassNumbers = {} if numbers is None else numbers
        self._backing = BackingNow() if backing is None else backing
        self._picked = 0  # the lick of this Round: what is played in it does not choose another one
        self._lick: LickTry | None = None
        self._heavy = HeavyBends(state)
        self._course: Course | None = None
        self._tried: dict[ItemName, Item] = {}  # what had tries and is not among the course's items any more
        self._lines: tuple[Line, ...] = ()
        self._now_s = self._played_s = self._ended_s = 0.0
        self._paused = False
        self._judged: _Judged | None = None
        self._meant_for: Item | None = None
        self._meant_before = False
        self._has_room = bool(self._items())  # asked for by every frame, and slow to work out

    @property
    def asked(self) -> Item | str | None:
        """For whoever plays by what is asked."""
        course = self._course
        if course is None:
            return None
        return "end" if course.over else course.asked or "rest"

    @property
    def judge_as(self) -> JudgeAs:
        """As the mode would that the item belongs to."""
        item = self._item
        return _JUDGE.get(item.part, "watch") if item else "watch"

    @property
    def rung(self) -> Rung | None:
        """The bend asked for; None for notes that are fretted or curled."""
        item = self._item
        return rung_of(item) if item is not None and item.semitones else None

    @property
    def rung_shown(self) -> Rung | None:
        """The bend that the screen is about; of what is fretted between heavy ones, the heavy one."""
        item = self._item_shown
        return rung_of(item) if item is not None and item.semitones else None

    @property
    def _item(self) -> Item | None:
        return self._course.asked if self._course else None

    @property
    def _item_shown(self) -> Item | None:
        """What a press is about: what is on the screen, though something else may be asked for by now."""
        judged, course = self._judged_shown, self._course
        item = self._item if judged is None else judged.item
        return course.item if course is not None and item is not None and item.part == "between" else item

    @property
    def _judged_shown(self) -> _Judged | None:
        """What was played last, as long as the screen stays with it."""
        judged = self._judged
        if judged is None or self._item is judged.item or self._now_s - judged.at_s < VERDICT_S:
            return judged
        return None

    def count(self, entries: Iterable[LogEntry]) -> None:
        """Heavy bends of other modes, or from before this session, count as well; ours were counted as they came."""
        self._heavy.count((one for one in entries if one.mode != self.name or one.time_s < 0.0), self._now_s)

    def move(self, state: PedalState) -> None:
        """In another key or position the Round goes on; another length or player ends it, and it can be begun anew."""
        before, asked_before = self._state, self._item
        self._state = state
        self._heavy.move(state)
        self._change_to(state, before)
        self._leave(asked_before)

    def _change_to(self, state: PedalState, before: PedalState) -> None:
        if state.round_minutes != before.round_minutes or state.player != before.player:
            self._break_off()
        if (state.licks, state.key, state.neck) != (before.licks, before.key, before.neck):
            self._lick = self._judged = None
        if (state.crossed_off, state.licks) == (before.crossed_off, before.licks) and state.same_forces(before):
            return
        items = self._items()
        self._has_room = bool(items)
        if self._course is not None:
            if items:
                self._tried = self._asked_and_tried(self._course)
                self._course.change_items(items)
            else:
                self._break_off()

    def _break_off(self) -> None:
        self._course, self._tried, self._lines, self._picked = None, {}, (), 0
        self._lick = self._judged = None

    def give_up(self) -> tuple[LogEntry, ...]:
        """The player goes elsewhere: a pass through a lick that is whole counts, any other is forgotten."""
        lick = self._lick_now()
        entries = () if lick is None else self._take_pass(lick, lick.leave(self._state))
        self._judged = None  # whoever comes back, or chooses in the menu, means what is asked for then
        return entries

    def begin(self) -> None:
        """A new Round, from its first note."""
        self._break_off()
        items = self._items()
        if items:
            self._course = self._course_of(State(self._state.round_minutes), items)
            self._paused, self._played_s = False, self._now_s

    def _course_of(self, state: State, items: Sequence[Item]) -> Course:
        return Course(
            state,
            items,
            need=self._homework_first,
            heavy_left=lambda: self._heavy.load.left(self._now_s),
            between=lambda item: between(item, self._state.key, self._state.neck),
            rest_s=self._state.round_rest_s,
        )

    def _items(self) -> tuple[Item, ...]:
        """What the position has, and the homework that is not done."""
        found = {item.name: item for item in self._state.items()}
        found |= {item.name: item for item in homework_items(self._state, self._homework)}
        if not any(item.part == "lick" for item in found.values()) and (lick := self._pick()) is not None:
            found[lick.name] = lick
        return tuple(found.values())

    def _pick(self) -> Item | None:
        """The lick of this Round, while it can be played; else the one that is to be."""
        lick = lick_of(self._state, self._picked) or round_lick(self._state, self._licks, self._now_s)
        self._picked = lick.lick if lick is not None else 0
        return lick

    def _need(self, item: Item) -> float:
        if item.part == "lick":
            return self._licks.need(self._state.player, log_name_of(self._state, item.lick), self._now_s)
        return need_of(self._tries(item), self._now_s)

    def _homework_first(self, item: Item) -> float:
        task = task_of(item, self._homework, self._state.player)
        return self._need(item) + (HOMEWORK_FIRST if task else 0.0)

    def _tries(self, item: Item) -> Sequence[Try]:
        skill = _JUDGE.get(item.part)
        return self._history.tries(skill).get((item.string, item.fret, item.target_midi), ()) if skill else ()

    def lamp_word(self, verdict: Verdict) -> str:
        """What became of what is asked for; of a lick's note the judge's word. A miss, as another note, is dark."""
        item = self._item
        if item is None or self._meant_before:
            return ""
        return verdict.verdict if item.part == "lick" else hold_against(item, verdict, self._state).outcome or ""

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """Time passes; a note is held against what is asked for."""
        match heard:
            case LivePitch(time_s=time_s):
                entries = self._pass_lick_time(heard)
                self._pass_time(time_s)
                return entries
            case Onset():
                self._played_s, self._paused, self._judged = self._now_s, False, None
                self._meant_before = False
            case Verdict() if self._meant_before:
                if self._meant_for is not None and self._meant_for.heavy and _is_bent(self._meant_for, heard):
                    self._heavy.load.add(self._now_s)
            case Verdict() if (lick := self._lick_now()) is not None:
                note = heard_note(heard, bands=self._state.bands_now)
                return () if note is None else self._take_pass(lick, lick.hear(note, heard, self._state))
            case Verdict():
                return self._judge(heard)
            case _:
                pass
        return ()

    def _pass_time(self, time_s: float) -> None:
        step_s, self._now_s = time_s - self._now_s, time_s
        course = self._course
        if course is None or course.over or not 0.0 < step_s <= STEP_MOST_S:
            return
        if course.resting_s is not None:
            self._played_s = time_s
        self._paused = self._paused or time_s - self._played_s > PAUSE_AFTER_S
        if not self._paused:
            lick = self._lick_now()
            sounding = self._string.sounding or (lick is not None and lick.playing)
            before = self._item
            course.tick(course.state.elapsed_s + step_s, sounding=sounding)
            self._leave(before)
            self._end_if_over()

    def _leave(self, before: Item | None) -> None:
        """Something else is asked for than `before`: what sounds now was plucked for that, and counts for nothing."""
        if _name(self._item) != _name(before) and self._string.sounding:
            self._meant_for, self._meant_before = before, True

    def _lick_now(self) -> LickTry | None:
        """What holds notes against the lick that is asked for; None while something else is."""
        item = self._item
        if item is None or item.part != "lick":
            return None
        lick = self._lick
        if lick is None or lick.number != item.lick:
            model = model_of(self._state, item.lick)
            lick = self._lick = None if model is None else LickTry(item.lick, model, asked(model, "as_played"))
        return lick

    def _pass_lick_time(self, live: LivePitch) -> tuple[LogEntry, ...]:
        lick = self._lick_now()
        if lick is None:
            return ()
        if live.after_hole:
            lick.lose()
        return self._take_pass(lick, lick.pass_time(live.time_s, self._state, sounding=self._string.sounding))

    def _take_pass(self, lick: LickTry, over: PlayedPass | None) -> tuple[LogEntry, ...]:
        """A pass is a try at its lick, and each of its heavy bends loads the hand; another phrase is none."""
        course, item = self._course, self._item
        if over is None or not over.marked.known or lick.lick is None or course is None or item is None:
            return ()
        for _ in range(item.heavy_bends):
            self._heavy.load.add(self._now_s)
        before, outcome = self._marks(item), outcome_of(over.marked)
        course.tried(outcome)
        if self._item is not item:
            strip = self._strip(lick, Status(self.name, str(self._state.key)), sounding=False)
            self._judged = _Judged(item, _one_more(before, outcome), strip, self._now_s)
            self._lick = None
        self._end_if_over()
        return pass_entries(over.marked, over.verdicts, lick.lick, self._state, mode=self.name, numbers=self._numbers)

    def _strip(self, lick: LickTry, status: Status, *, sounding: bool) -> LickScreen:
        return lick.screen(status, self._state, f"lick {lick.number}", sounding=sounding)

    def _judge(self, verdict: Verdict) -> tuple[LogEntry, ...]:
        course, item = self._course, self._item
        if course is None or item is None:
            return ()
        outcome, card, entry = hold_against(item, verdict, self._state)
        if card is not None and outcome is not None:
            card = self._backing.told(self._state, verdict, card)
        before = self._marks(item)
        strained = course.item is not None and course.item.heavy and _is_bent(item, verdict)
        if strained:
            self._heavy.load.add(self._now_s)
        if outcome is not None:
            course.tried(outcome, verdict.error_cents)
            self._string.clear_notch()
        elif strained:
            course.strained()
        if card is not None:
            marks = self._marks(item) if self._item is item else _one_more(before, outcome)
            self._judged = _Judged(item, marks, card, self._now_s)
        self._end_if_over()
        return () if entry is None else (entry,)

    def _marks(self, item: Item) -> tuple[TryMark, ...]:
        """True tries and those still wanted, then the others; none for a fretted note, which one of is enough."""
        course = self._course
        if course is None or item.part in ("plain", "between") or course.item is not item:
            return ()
        score = course.state.score
        marks: list[TryMark] = ["true"] * score.trues
        marks += ["open"] * (item.wanted - score.trues)
        return (*marks, *score.misses)

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`next_target` begins, passes an item over, ends a rest, and clears the end; `again` counts the item anew.

        While the screen stays with an item that is over, they only bring what is asked for: nobody has seen it yet.
        """
        before = self._item
        entries = self._obey(action)
        self._leave(before)
        return entries

    def _obey(self, action: Action) -> tuple[LogEntry, ...]:
        course, shown = self._course, self._item_shown
        lingers = course is not None and shown is not None and shown is not course.item
        match action:
            case "next_target" | "skip" | "again" if lingers:
                self._judged = None
            case "next_target" | "skip" if course is None:
                self.begin()
            case "next_target" | "skip" if course is not None and course.over:
                self._break_off()
            case "next_target" | "skip" if course is not None:
                return self._skip(course)
            case "again" if course is not None and course.over:
                self.begin()
            case "again" if course is not None:
                if (lick := self._lick_now()) is not None:
                    lick.clear()
                course.state.score.outcomes.clear()
                self._judged = None
            case _:
                pass
        return ()

    def _skip(self, course: Course) -> tuple[LogEntry, ...]:
        rung, lick, item = self.rung_shown, self._lick_now(), self._item
        self._paused, self._played_s, self._judged = False, self._now_s, None
        if course.resting_s is not None:
            course.end_rest()
            return ()
        entries = () if lick is None else self._take_pass(lick, lick.leave(self._state))
        if self._item is item:
            course.pass_over()
        self._lick = self._judged = None
        self._end_if_over()
        return entries if rung is None else (self._state.skipped(self.name, rung, time_s=self._now_s),)

    def _end_if_over(self) -> None:
        course = self._course
        if course is None or not course.over or self._lines:
            return
        self._ended_s = self._now_s
        self._lines = closing_lines(
            self._asked_and_tried(course),
            course.state.history,
            need=self._need,
            minutes=course.state.minutes,
            heavy_free_in_s=self._heavy.load.free_in_s(self._now_s),
        )

    def _asked_and_tried(self, course: Course) -> dict[ItemName, Item]:
        """What this Round has tries of, in whatever key and position; what hurt and was crossed off is not told of."""
        tried = self._tried | {item.name: item for item in course.items if item.name in course.state.history}
        off = self._state.crossed_off
        return {name: one for name, one in tried.items() if Crossing(one.string, one.fret, one.semitones) not in off}

    def remember(self) -> Memory:
        """A Round that is going on, in one line; "" for none."""
        return {"round": words_of(self._course.state) if self._course else ""}

    def recall(self, memory: Mapping[str, object]) -> None:
        """Take it up again where it was, and wait for a note; damaged words change nothing."""
        words = memory.get("round")
        if not isinstance(words, str) or not words:
            return
        try:
            state = state_of(words)
        except ValueError:
            return
        begun = (name for name in (state.now, *state.history) if name is not None and name.part == "lick")
        self._picked = next((name.fret for name in begun), 0)
        items = self._items()
        if not items:
            return
        if state.minutes == self._state.round_minutes:
            self._course, self._paused = self._course_of(state, items), True
            self._tried = {name: item for name in state.history if (item := self._item_named(name)) is not None}

    def _item_named(self, name: ItemName) -> Item | None:
        """Of another key or position than that of now."""
        return item_named(name, key=self._state.key, neck=self._state.neck, rig=self._state.strung())

    def screen(self, status: Status) -> ScreenModel:
        """What is asked for, the rest, the end, or the beginning."""
        state, course = self._state, self._course
        if course is None:
            if not self._has_room:
                return MessageScreen("NO ROOM", (f"position {state.position}", "does not fit the neck"))
            return RoundStartScreen(status, state.round_minutes, state.position, self._heavy.load.left(self._now_s))
        minutes_left = _up(course.left_s / 60)
        judged, item = self._judged_shown, course.asked
        if judged is not None:
            return self._item_screen(status, judged.item, judged.marks, minutes_left, judged.shown)
        if course.over:
            lines = tuple((line.title, line.short, line.whole) for line in self._lines)
            page = int(max(0.0, self._now_s - self._ended_s) // PAGE_S) % max(1, len(lines))
            return RoundEndScreen(status, lines, page)
        if item is None:
            return RoundRestScreen(status, _up(course.resting_s or 0.0), minutes_left)
        lick = self._lick_now()
        shown = None if lick is None else self._strip(lick, status, sounding=self._string.sounding)
        return self._item_screen(status, item, self._marks(item), minutes_left, shown)

    def _item_screen(
        self,
        status: Status,
        item: Item,
        marks: tuple[TryMark, ...],
        minutes_left: int,
        shown: VerdictCard | LickScreen | None,
    ) -> RoundScreen | RoundLickScreen:
        if isinstance(shown, LickScreen):
            return RoundLickScreen(
                status,
                strip=shown,
                title=item.note,
                marks=marks,
                minutes_left=minutes_left,
                heavy=item.heavy_bends > 0,
                paused=self._paused,
                homework=self._homework_words(item),
            )
        drawn = self._string.picture(self._state, rung_of(item).aim if item.semitones else None)
        if item.part != "curl":
            drawn = replace(drawn, zone_cents=None)
        if not item.semitones:
            drawn = replace(drawn, target_cents=None)
        return RoundScreen(
            status,
            part=item.part,
            string=item.string,
            fret=item.fret,
            note=item.note,
            target=item.target,
            support=item.support + (", heavy" if item.heavy else ""),
            picture=replace(drawn, blind=item.part == "prebend"),
            verdict=shown,
            marks=marks,
            minutes_left=minutes_left,
            heavy=item.heavy,
            paused=self._paused,
            homework=self._homework_words(item),
        )

    def _homework_words(self, item: Item) -> str:
        """How often it was true and shall be: "4/10"; "" for what is no homework."""
        task = task_of(item, self._homework, self._state.player)
        return f"{self._homework.true(task)}/{task.times}" if task and self._homework else ""


def _name(item: Item | None) -> ItemName | None:
    return None if item is None else item.name


def _is_bent(item: Item, verdict: Verdict) -> bool:
    """Whether the hand bore something: at a heavy bend whatever may have been one, between two what surely was."""
    if item.part == "between":
        return SKILL_OF_KIND.get(verdict.kind) in ("bend", "prebend")
    return verdict.kind not in _NO_FORCE


def _up(amount: float) -> int:
    """Rounded up, but for what sums of small steps are off by."""
    return math.ceil(amount - 1e-6)


def _one_more(marks: tuple[TryMark, ...], outcome: Outcome | None) -> tuple[TryMark, ...]:
    """The marks of an item that the last try has ended."""
    if outcome is None:
        return marks
    if outcome == "true" and "open" in marks:
        at = marks.index("open")
        return (*marks[:at], "true", *marks[at + 1 :])
    return (*marks, outcome)
