"""The one place that knows all modes: what the pedal is doing now, and where the player moved it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from pedal.modes.assignments import count_entries
from pedal.modes.backing_now import BackingNow, pulse_order
from pedal.modes.blind import Blind
from pedal.modes.curl import Curl
from pedal.modes.drone import SILENCE, STEPS, DroneOrder, LickOrder, drone_order
from pedal.modes.echo import Echo
from pedal.modes.history import History
from pedal.modes.input_events import (
    Action,
    BeatsBegan,
    Command,
    DelayHeard,
    DevicesFound,
    Heard,
    InputEvent,
    LivePitch,
    LogPaused,
    PartFailed,
    SwitchTrouble,
)
from pedal.modes.ladder import Ladder
from pedal.modes.lick import Licks
from pedal.modes.lick_log import LickHistory, PassNumbers
from pedal.modes.lick_shelf import NEW, KeptLick, put
from pedal.modes.log_entry import LogEntry
from pedal.modes.margins import Margins
from pedal.modes.memory import Memory, crossing_words, crossings_of, remember, restore
from pedal.modes.menu import Menu
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.recall import Recall
from pedal.modes.round import Round
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import ScreenModel
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.modes.tune import Tune
from pedal.modes.watch import Watch
from pedal.notes.event import Onset
from pedal.pitch.reading import Reading
from pedal.practice.homework import Progress
from pedal.practice.item import Item
from pedal.progress.lookback import Lookback
from pedal.theory.scale import Key, usual_tonic
from pedal.values import frozen
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict

__all__ = ["Answer", "DroneOrder", "Pedal", "PedalState"]

Word = TypeVar("Word")


@frozen
class Answer:
    """What follows from one event.

    entries : lines for the log.
    drone : a new order for the drone; None means unchanged.
    remember : `memory()` has changed and is worth writing.
    licks : to be kept, each under its number.
    play : a lick to be heard from the output; None leaves what plays.
    """

    entries: tuple[LogEntry, ...] = ()
    drone: DroneOrder | None = None
    remember: bool = False
    licks: tuple[KeptLick, ...] = ()
    play: LickOrder | None = None


_NOTHING = Answer()
_CROSSED = "crossed_off of "
"""What the memory calls the crossed-off bends of a player who is not playing now, before the name."""
_PLAYED_BY = "played_by"
"""Whose bends, rungs and Round the memory holds: the settings may say by now that another one plays."""


class Pedal:
    """`.step(event)` moves on; `.aim` and `.screen()` say where we are; `.memory()` is what outlives a power cut.

    Parameters
    ----------
    settings : PedalState
        From the configuration.
    memory : mapping, optional
        What `.memory()` gave before the power went; a damaged value is passed over and the settings stand.
    past : entries of earlier sessions, oldest first
        Their `time_s` on this session's clock, so negative. They teach the order by need and nothing else.
    looks : what the last session and the last month say, for Recall.
    """

    def __init__(
        self,
        settings: PedalState,
        memory: Mapping[str, object] | None = None,
        past: Iterable[LogEntry] = (),
        looks: Sequence[Lookback] = (),
    ) -> None:
        remembered = memory or {}
        self._own_key = settings.key
        self._state = _on_the_neck(restore(settings, remembered))
        self._margins, self._menu = Margins(), Menu()
        past = list(past)
        others = {word: off for word, off in remembered.items() if word.startswith(_CROSSED)}
        self._crossed = {word.removeprefix(_CROSSED): crossings_of(off) for word, off in others.items()}
        player = self._state.player
        played_by = str(remembered.get(_PLAYED_BY, remembered.get("player", player)))
        if played_by != player:  # the settings lost the name, or put another one first
            self._crossed[played_by] = self._state.crossed_off
            self._state = replace(self._state, crossed_off=self._crossed.get(player, frozenset()))
        self._history = History(past, self._state.player)
        self._string, self._backing = StringNow(), BackingNow()
        self._looks = (self._state.player, tuple(looks))
        self._ladder = Ladder(self._state, self._string, self._history)
        self._blind = Blind(self._state, self._string, self._history)
        self._echo = Echo(self._state, self._string)
        numbers: PassNumbers = {}
        self._licks = Licks(self._state, self._string, numbers, self._backing)
        self._lick_history = LickHistory(past)
        self._kept = self._state.licks
        homework = self._state.homework
        self._homework = None if homework is None else Progress(homework)
        self._count_homework(past)
        self._round = Round(
            self._state,
            self._string,
            self._history,
            self._homework,
            licks=self._lick_history,
            numbers=numbers,
            backing=self._backing,
        )
        self._round.count(past)
        self._recalls: dict[str, Recall] = {}
        self._modes = self._gather_modes()
        if played_by == player:
            for mode in (self._ladder, self._blind, self._round):
                mode.recall(remembered)
        self._lent = self._plucked_elsewhere = False
        self._before: ModeName = self._state.mode
        self._enter(self._state.mode)
        self.aim = self._find_aim()
        self._ordered = self.drone
        self._remembered = self.memory()

    def _gather_modes(self) -> dict[ModeName, Mode]:
        state, string = self._state, self._string
        modes: tuple[Mode, ...] = (
            Tune(state),
            Watch(state, string, self._backing),
            Curl(state, string),
            self._ladder,
            self._blind,
            self._echo,
            self._licks,
            self._round,
            self._recall_of(state),
        )
        return {mode.name: mode for mode in modes}

    def _recall_of(self, state: PedalState) -> Recall:
        """Each player looks back over their own session."""
        if state.player not in self._recalls:
            self._recalls[state.player] = Recall(state, self._homework, self._looks_of(state))
        return self._recalls[state.player]

    @property
    def _mode(self) -> Mode:
        return self._modes[self._state.mode]

    @property
    def settings(self) -> PedalState:
        """Where the player is now: also the density of the screen and the audio device that were chosen."""
        return self._state

    @property
    def asked(self) -> Item | str | None:
        """What Round asks for now: an item, "rest", "end", None before it has begun. May be read from any thread."""
        return self._round.asked

    @property
    def set_up_wanted(self) -> bool:
        """The set-up was chosen in the menu: whoever runs the pedal ends it, and begins anew after the set-up."""
        return self._menu.set_up_wanted

    @property
    def drone(self) -> DroneOrder:
        """What the drone shall play now."""
        state = self._state
        if not state.drone_on:
            return SILENCE
        if state.backing != "drone":
            return pulse_order(state)
        return drone_order(state.key, state.drone, state.chord, a4_hz=state.a4_hz, level_db=state.drone_db)

    def know_switches(self, held_for_model: Mapping[ModeName, int]) -> None:
        """Which switch is held for a model in a mode, 0 for unknown: the screens that ask for one say it."""
        self._move(replace(self._state, held_for_model=tuple(held_for_model.items())))

    def lamp_word(self, verdict: Verdict) -> str:
        """What the lamp says of a note that is about to be stepped; "" where the mode will not be told of it."""
        return "" if self._menu.open or self._plucked_elsewhere else self._mode.lamp_word(verdict)

    def step(self, event: InputEvent) -> Answer:
        """Take one event. Never raises, whatever the order they come in."""
        if isinstance(event, Reading):  # 375 a second: not through every case below
            self._string.climb(event.hz)
            mode = self._modes[self._state.mode]
            if mode.follows_readings:
                mode.hear(event)
            return _NOTHING
        self._margins.hear(event)
        self._backing.hear(event)
        match event:
            case SwitchTrouble() | LogPaused() | PartFailed():
                return Answer()
            case BeatsBegan():
                self.aim = self._find_aim()
                return _NOTHING
            case DevicesFound(names=names):
                self._state = replace(self._state, devices=names)
                return Answer()
            case DelayHeard(delay_ms=delay_ms):
                self._move(replace(self._state, delay_ms=round(delay_ms, 1), delay_heard=True))
                return self._answer(())
            case Command(action=action):
                entries = self._obey(action)
                self._take_new_lick()
                return self._answer(entries)
            case _:
                silent = isinstance(event, LivePitch) and not self._string.sounding
                if silent and self._backing.goals(self._state) != self._goals:
                    self.aim = self._find_aim()  # another chord; a bend that sounds keeps the target it began with
                before = self._state
                entries = self._hear(event)
                moved = self._state is not before  # a played note was taken by the menu
                if entries or moved or isinstance(event, Verdict) or self._take_new_lick():
                    return self._answer(entries)
                self._follow_the_mode()
                return _NOTHING

    def _hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """What comes from the strings goes to the mode.

        A note that ends while the menu is up is not judged, and one that was plucked in another mode neither.
        """
        self._string.hear(heard)
        if isinstance(heard, Onset):
            self._plucked_elsewhere = False
        if self._menu.open:
            played = self._menu.hear(heard, self._menu_place())
            if played is not None:
                return self._take_from_menu(played)
            if isinstance(heard, Verdict):
                return ()
        if isinstance(heard, Verdict) and self._plucked_elsewhere:
            return ()
        return self._mode.hear(heard)

    def _follow_the_mode(self) -> None:
        """Time alone may have changed what is asked for: a rest that is over."""
        mode, aim = self._mode, self.aim
        if mode.judge_as != aim.judge_as or (mode.rung.aim if mode.rung else None) != aim.target:
            self.aim = self._find_aim()

    def _menu_place(self) -> PedalState:
        """What the menu is told: also which bend the screen below it is about."""
        rung = self._mode.rung_shown
        return self._state if rung is None else replace(self._state, bend=rung)

    def screen(self) -> ScreenModel:
        """What the screen says now."""
        state = self._state
        name = "menu" if self._menu.open else state.mode
        chord, beat = self._backing.words(state), self._backing.beat(state)
        unheard = self._backing.unheard(state)
        status = self._margins.status(
            name, str(state.key), drone=state.drone_on, chord=chord, beat=beat, no_output=unheard
        )
        return self._menu.screen(status, self._menu_place()) if self._menu.open else self._mode.screen(status)

    def _looks_of(self, state: PedalState) -> tuple[Lookback, ...]:
        """What was read of the log belongs to the player that it was read for, and to nobody else."""
        player, looks = self._looks
        return looks if player == state.player else ()

    def memory(self) -> Memory:
        """Plain words to remember: mode, key, position, target, what the menu changed.

        Whether the drone was on is not among them: after a power cut it does not come back by itself, unless the mode
        is Blind, which is played against one.
        """
        others = {f"{_CROSSED}{name}": crossing_words(off) for name, off in self._crossed.items() if off}
        modes = self._ladder.remember() | self._blind.remember() | self._round.remember()
        return others | remember(self._state) | modes | {_PLAYED_BY: self._state.player}

    def _answer(self, entries: tuple[LogEntry, ...]) -> Answer:
        state, order = self._state, self.drone
        changed_order, another_pulse = order != self._ordered, order.pulse != self._ordered.pulse
        self._ordered = order
        if another_pulse:
            self._backing.forget()
        entries = self._completed(entries)
        self._history.add(entries)
        self._lick_history.add(entries)
        self._round.count(entries)
        self._count_homework(entries)
        self._recall_of(state).add(entries)
        self.aim = self._find_aim()
        memory = self.memory()
        changed, self._remembered = memory != self._remembered, memory
        drone = order if changed_order else None
        return Answer(entries, drone, remember=changed, licks=self._licks_to_keep(), play=self._licks.take_play())

    def _completed(self, entries: Iterable[LogEntry]) -> tuple[LogEntry, ...]:
        """With what the modes do not know: drone, player, chord and beat."""
        state, player = self._state, self._state.player or None
        return tuple(self._backing.marked(state, replace(one, drone=state.drone_on, player=player)) for one in entries)

    def _take_new_lick(self) -> bool:
        """A model that was just played, or a change that was kept, is the lick of now."""
        made = self._licks.take_new()
        if made is None:
            return False
        self._move(replace(self._state, licks=put(self._state.licks, KeptLick(NEW, made)), lick=NEW))
        return True

    def _licks_to_keep(self) -> tuple[KeptLick, ...]:
        before, self._kept = self._kept, self._state.licks
        return tuple(one for one in self._kept if one not in before) if self._kept is not before else ()

    def _obey(self, action: Action) -> tuple[LogEntry, ...]:
        match action:
            case "drone":
                self._lent = False
                self._move(replace(self._state, drone_on=not self._state.drone_on))
            case "drone_chord":
                self._move(replace(self._state, chord=(self._state.chord + 1) % len(STEPS)))
            case "model_end":
                return self._mode.command(action)
            case _ if self._menu.open or action == "menu":
                return self._take_from_menu(self._menu.command(action, self._menu_place()))
            case _:
                return self._play(action)
        return ()

    def _take_from_menu(self, state: PedalState) -> tuple[LogEntry, ...]:
        entries = self._give_up()
        if (state.drone, state.drone_on) != (self._state.drone, self._state.drone_on):
            self._lent = False
        mode, bend = state.mode, state.bend
        wanted = bend if bend != self._menu_place().bend else None
        self._move(replace(state, mode=self._state.mode, bend=None))
        if wanted is not None and not self._seek(wanted):
            mode = "ladder"
        if mode != self._state.mode:
            entries = (*entries, *self._enter(mode))
            if wanted is not None:
                self._seek(wanted)
        return entries

    def leave(self) -> tuple[LogEntry, ...]:
        """The pedal is switched off: what was whole and waited for what might follow."""
        return self._completed(self._give_up())

    def _give_up(self) -> tuple[LogEntry, ...]:
        """What was being recorded becomes no model; a whole pass that waited for what might follow is over."""
        self._echo.give_up()
        self._ladder.give_up()
        return (*self._licks.give_up(), *self._round.give_up())

    def _seek(self, rung: Rung) -> bool:
        """Go to a bend that the player chose, in a mode that asks for bends one by one; False where there is none."""
        mode = self._mode
        if not isinstance(mode, Ladder | Blind):
            return False
        mode.seek(rung.string, rung.fret)
        return True

    def _play(self, action: Action) -> tuple[LogEntry, ...]:
        """What moves the player about, or means something in the mode itself."""
        state = self._state
        match action:
            case "next_mode" | "previous_mode":
                return self._enter(_neighbour(state.modes, state.mode, 1 if action == "next_mode" else -1))
            case "recall":
                return self._enter("recall")
            case "back":
                return self._enter(self._before)
            case "next_key" | "previous_key":
                step = 1 if action == "next_key" else -1
                return self._go_on(replace(state, key=_key_beside(state.key, step, self._own_key)))
            case "next_position" | "previous_position":
                return self._go_on(_position_beside(state, 1 if action == "next_position" else -1))
            case "cross_off":
                return self._cross_off()
            case _:
                return self._mode.command(action)

    def _go_on(self, state: PedalState) -> tuple[LogEntry, ...]:
        """Another key or position, which asks for licks anew: a whole pass that waited for what may follow is over."""
        entries = (*self._licks.leave_pass(), *self._round.give_up())
        self._move(state)
        return entries

    def _enter(self, name: ModeName) -> tuple[LogEntry, ...]:
        """Another mode. A drone that a mode asked for goes with it; one that the player switched on stays."""
        entries = self._give_up()
        if name != self._state.mode:  # else back would lead nowhere
            self._before = self._state.mode
            self._plucked_elsewhere = self._string.sounding
        drone_on = self._state.drone_on and not self._lent
        self._lent = self._modes[name].wants_drone and not drone_on
        self._move(replace(self._state, mode=name, drone_on=drone_on or self._lent))
        return entries

    def _move(self, state: PedalState) -> None:
        if state == self._state:
            return
        if state.player != self._state.player:
            state = self._hand_over(state)
        self._state = _on_the_neck(state)
        for mode in self._modes.values():
            mode.move(self._state)

    def _hand_over(self, state: PedalState) -> PedalState:
        """Another player: their own crossed-off bends, order by need and look back."""
        self._crossed[self._state.player] = self._state.crossed_off
        self._history.player = state.player
        self._modes["recall"] = self._recall_of(state)
        return replace(state, crossed_off=self._crossed.get(state.player, frozenset()))

    def _cross_off(self) -> tuple[LogEntry, ...]:
        """The bend on the screen is never asked for again; it is logged as skipped where it was still asked for."""
        rung = self._mode.rung_shown
        if rung is None:
            return ()
        entries = self._mode.command("skip")
        self._move(replace(self._state, crossed_off=self._state.crossed_off | {rung.crossing}))
        return entries

    def _count_homework(self, entries: Iterable[LogEntry]) -> None:
        if self._homework is not None:
            count_entries(self._homework, entries)

    def _find_aim(self) -> Aim:
        state, mode = self._state, self._mode
        self._goals = self._backing.goals(state)
        self._string.goals = self._goals
        return Aim(
            state.key,
            judge_as=mode.judge_as,
            target=mode.rung.aim if mode.rung else None,
            bands=state.bands,
            a4_hz=state.a4_hz,
            lowest_midi=state.neck.lowest_midi,
            drone=self._state.drone_on,
            goals=self._goals,
        )


def _neighbour(words: Sequence[Word], now: Word, step: int) -> Word:
    """The word `step` places on in a ring."""
    return words[(words.index(now) + step) % len(words)] if now in words else words[0]


def _key_beside(key: Key, step: int, own: Key) -> Key:
    """The same scale a semitone up or down, spelled as players say it; the settings' `own` key as it stands there."""
    semitone = (key.tonic.semitone + step) % 12
    if (semitone, key.degrees) == (own.tonic.semitone, own.degrees):
        return replace(key, tonic=own.tonic)
    return replace(key, tonic=usual_tonic(semitone, key.degrees))


def _position_beside(state: PedalState, step: int) -> PedalState:
    held = state.held_positions()
    return replace(state, position=_neighbour(held, state.position, step)) if held else state


def _on_the_neck(state: PedalState) -> PedalState:
    """The nearest position that the neck holds, where it holds any."""
    held = state.held_positions()
    if not held or state.position in held:
        return state
    return replace(state, position=min(held, key=lambda number: abs(number - state.position)))
