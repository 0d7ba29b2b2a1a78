"""Lick: hold a switch and play a phrase; each pass after it is held against it, note by note.

A short press walks through what is asked: as played, plain, sung, and then the changes that the lick invites, one at a
time. While a change is offered the pass is judged for it alone, and the press keeps it if it was there, else drops it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from statistics import median

from pedal.licks.forms import QUESTIONS, Question, asked
from pedal.licks.heard import heard_note, model_of, vague_in
from pedal.licks.lick import LONGEST_S, Lick, LickError
from pedal.licks.offers import Offer, applied, offers, sung_form
from pedal.modes.backing_now import BackingNow, timing_words
from pedal.modes.drone import LOUDER_DB, LickOrder
from pedal.modes.input_events import Action, Heard, LivePitch
from pedal.modes.lick_log import PassNumbers, changed_name, pass_entries
from pedal.modes.lick_recording import Recording, what_was_heard
from pedal.modes.lick_screen import was_there
from pedal.modes.lick_shelf import NEW, Chosen, chosen, original, title_of
from pedal.modes.lick_try import LickTry, PlayedPass
from pedal.modes.log_entry import LogEntry
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.screen_model import LickScreen, Status, StripMark
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.verdicts.verdict import Verdict

STRANGE_PASSES = 2
"""So many passes in a row that are another phrase, and the pedal says so."""
STRANGE = "not this lick: hold to learn it anew"
TOO_LONG = f"no model: it was longer than {LONGEST_S:g} s: play a shorter lick"
GIVEN_UP = "sound was lost: hold and play again"
HEARD_AFTER_S = 0.5
"""What the pedal plays itself may ring on so long."""


class Licks(Mode):
    """The mode. `take_new()` gives a model that was just made, `take_play()` one that is to be heard."""

    name: ModeName = "lick"

    def __init__(
        self,
        state: PedalState,
        string: StringNow,
        numbers: PassNumbers | None,
        backing: BackingNow | None,
    ) -> None:
        self._backing, self._timing = BackingNow() if backing is None else backing, ""
        self._state, self._string = state, string
        self._recording: Recording | None = None
        self._now_s = 0.0
        self._made: Lick | None = None
        self._made_told = ""
        self._deaf_until_s = self._plays_until_s = float("-inf")
        self._order: LickOrder | None = None
        self._tempo = 1.0
        self._numbers = {} if numbers is None else numbers
        self._load()

    # The lick and what is asked of it

    def _load(self) -> None:
        state = self._state
        self._be_quiet()
        self._chosen: Chosen = chosen(state.licks, state.lick, state.key, state.neck)
        self._turn = 0
        self._dropped: set[Offer] = set()
        self._strange = 0
        told, self._made_told = self._chosen.why or self._made_told, ""
        self._ask(told)

    def _ask(self, told: str) -> None:
        """Make ready what is asked now."""
        number, lick = self._state.lick, self._chosen.lick
        self._offers: tuple[Offer, ...] = () if lick is None else self._find_offers(lick)
        if lick is None:
            self._try = LickTry(number, None, told=told)
        else:
            wanted = asked(lick, self.question, sung_form(lick, self._offers), self._asked_lick(lick))
            self._try = LickTry(number, lick, wanted, self.question, told=told)

    def _find_offers(self, lick: Lick) -> tuple[Offer, ...]:
        state = self._state
        found = offers(
            lick,
            neck=state.neck,
            rig=state.strung(),
            crossed_off=state.crossed_off,
            position_number=state.position,
        )
        return tuple(offer for offer in found if offer not in self._dropped)

    def _asked_lick(self, lick: Lick) -> Lick:
        offer = self.offer
        return lick if offer is None else applied(lick, offer)

    @property
    def question(self) -> Question:
        """What a pass is held against; while a change is offered, the lick with it, as it stands."""
        return QUESTIONS[self._turn] if self._turn < len(QUESTIONS) else "as_played"

    @property
    def offer(self) -> Offer | None:
        """The change that is offered now."""
        return self._offers[0] if self._turn >= len(QUESTIONS) and self._offers else None

    @property
    def lick(self) -> Lick | None:
        """The model, in the key of now."""
        return self._chosen.lick

    @property
    def kept_by_press(self) -> bool:
        """Whether the offered change was there in the last pass, so that a press keeps it."""
        offer, shown = self.offer, self._try.shown
        return offer is not None and shown is not None and was_there(offer, shown)

    # What the pedal tells and takes

    def move(self, state: PedalState) -> None:
        """Another lick, key, neck or hand: what is asked is found anew; other settings change nothing here."""
        before, self._state = self._state, state
        if (state.lick, state.key, state.neck) != (before.lick, before.key, before.neck) or (
            original(state.licks, state.lick) != original(before.licks, before.lick)
        ):
            self._load()
        elif not state.same_forces(before) or state.crossed_off != before.crossed_off:
            self._ask(self._try.told)

    def take_new(self) -> Lick | None:
        """The model that was made since this was asked last."""
        made, self._made = self._made, None
        return made

    def take_play(self) -> LickOrder | None:
        """What is to be heard, since this was asked last."""
        order, self._order = self._order, None
        return order

    def give_up(self) -> tuple[LogEntry, ...]:
        """The player goes elsewhere: no model comes of what was being recorded; a pass that is whole counts."""
        self._recording = None
        self._be_quiet()
        return self.leave_pass()

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """Notes make the model while one is recorded, else the pass."""
        if isinstance(heard, LivePitch):
            return self._pass_time(heard)
        if not isinstance(heard, Verdict):
            return ()
        note = heard_note(heard, bands=self._state.bands_now)
        if note is None:
            return ()
        if note.onset_s < self._deaf_until_s:
            return ()
        if self._recording is not None:
            self._recording.hear(note)
            return ()
        entries = self._take(self._try.hear(note, heard, self._state))
        if self._try.whole:
            self._timing = self._late_words(self._try.verdicts.values())
        return entries

    def _pass_time(self, live: LivePitch) -> tuple[LogEntry, ...]:
        self._now_s = live.time_s
        if live.after_hole:
            self._lose()
        sounding = self._string.sounding
        if self._recording is not None:
            if self._recording.over(live.time_s, sounding=sounding):
                self._take_model(self._recording, live.time_s)
            return ()
        return self._take(self._try.pass_time(live.time_s, self._state, sounding=sounding))

    def _lose(self) -> None:
        """What is being played has a hole: it can be neither model nor pass."""
        if self._recording is not None and self._recording.notes:
            self._recording, self._try.told = None, GIVEN_UP
        self._try.lose()

    def _take_model(self, recording: Recording, now_s: float) -> None:
        self._recording, self._deaf_until_s = None, now_s  # what still sounds began as a part of it
        if not recording.notes:
            return
        if recording.too_long(now_s):
            self._try.told = TOO_LONG
            return
        state = self._state
        try:
            self._made = model_of(recording.notes, state.key, tuning=state.neck.tuning)
        except LickError as fault:
            self._try.told = f"no model: {fault}"
        else:
            vague = vague_in(recording.notes)
            self._made_told = f"{vague} unclear, left out" if vague else ""

    # Passes

    def leave_pass(self) -> tuple[LogEntry, ...]:
        """The player goes on to something else: a pass that is whole counts, and nothing of it stays."""
        return self._take(self._try.leave(self._state))

    def _take(self, over: PlayedPass | None) -> tuple[LogEntry, ...]:
        """A pass that is over, put into lines for the log; one that was another phrase is none."""
        lick = self._try.lick
        if over is None or lick is None:
            return ()
        self._timing = self._late_words(over.verdicts.values())
        self._strange = 0 if over.marked.known else self._strange + 1
        if self._strange >= STRANGE_PASSES:
            self._try.told = STRANGE
        if not over.marked.known:
            return ()
        return pass_entries(over.marked, over.verdicts, lick, self._state, mode="lick", numbers=self._numbers)

    def _late_words(self, verdicts: Iterable[Verdict]) -> str:
        """Where the bends of a pass lay beside the beat, in the middle; "" without a pulse or a bend."""
        beside = (self._backing.beside(self._state, verdict) for verdict in verdicts)
        late_ms = [ms for ms in beside if ms is not None]
        return timing_words(median(late_ms), sure=self._state.delay_heard) if late_ms else ""

    # The foot

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`model_begin`, `model_end`; `next_target` and `previous_target` change what is asked; `again` wipes."""
        match action:
            case "model_begin":
                entries = self.leave_pass()
                self._be_quiet()
                self._try.clear()
                self._recording = Recording(self._now_s)
                return entries
            case "model_end" if self._recording is not None:
                self._recording.let_go(sounding=self._string.sounding)
            case "next_target" | "skip":
                return self._step(1)
            case "previous_target":
                return self._step(-1)
            case "hear_model":
                return self._hear_model()
            case "again":
                self._try.clear()
            case _:
                pass
        return ()

    def _hear_model(self) -> tuple[LogEntry, ...]:
        """Play it as it stands now; pressed again at half the tempo, and once more it stops."""
        lick, now_s = self._chosen.lick, self._now_s
        if lick is None or self._recording is not None:
            return ()
        playing = now_s < self._plays_until_s
        if playing and self._tempo < 1.0:
            self._stop_playing()
            return ()
        self._tempo = 0.5 if playing else 1.0
        state = self._state
        level = min(state.ceiling_db, state.drone_db + LOUDER_DB)
        self._order = LickOrder(self._asked_lick(lick), self._tempo, level, state.a4_hz)
        self._plays_until_s = self._deaf_until_s = now_s + lick.seconds / self._tempo + HEARD_AFTER_S
        entries = self.leave_pass()
        self._try.clear()
        self._try.told = "listen" if self._tempo == 1.0 else "listen: half the tempo"
        return entries

    def _be_quiet(self) -> None:
        """What the pedal plays is another thing than what is asked from now on."""
        if self._plays_until_s > self._now_s:
            self._stop_playing()

    def _stop_playing(self) -> None:
        self._order = LickOrder(None)
        self._plays_until_s, self._try.told = float("-inf"), ""
        self._deaf_until_s = self._now_s + HEARD_AFTER_S

    def _step(self, way: int) -> tuple[LogEntry, ...]:
        """The next question; of an offer that a pass stands for, the answer."""
        entries = self.give_up()
        self._try.told = ""
        lick, offer = self._chosen.lick, self.offer
        if lick is None:
            return entries
        if offer is not None and way > 0:
            if self.kept_by_press:
                self._made = replace(applied(lick, offer), name=changed_name(lick, offer))
                self._chosen = replace(self._chosen, lick=self._made)
            else:
                self._dropped.add(offer)
            self._ask("")
            if not self._offers:
                self._turn = 0
                self._ask("")
            return entries
        turns = len(QUESTIONS) + (1 if self._offers else 0)
        self._turn = (self._turn + way) % turns
        if self._turn == 0:
            self._dropped.clear()
        self._ask("")
        return entries

    def screen(self, status: Status) -> LickScreen:
        """What is asked, what was reached, what became of it."""
        lick, recording = self._chosen.lick, self._recording
        if recording is not None:
            strip: list[StripMark] = ["open" for _ in recording.notes]
            return LickScreen(status, "recording", "", what_was_heard(recording.notes), tuple(strip))
        if lick is None:
            switch = dict(self._state.held_for_model).get("lick", 0)
            return LickScreen(status, "empty", "", self._try.told, switch=switch)
        number = "new" if self._state.lick == NEW else str(self._state.lick)
        said = f" ({self._chosen.said})" if self._chosen.said else ""
        sounding = self._string.sounding and self._now_s >= self._deaf_until_s  # not what the pedal plays
        title = f"{number} {title_of(lick)}{said}"
        shown = self._try.screen(status, self._state, title, sounding=sounding, offer=self.offer)
        if shown.stage != "marked" or not self._timing:
            return shown
        return replace(shown, details="  ".join(filter(None, (self._timing, shown.details))))
