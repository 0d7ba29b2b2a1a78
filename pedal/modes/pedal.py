"""The one place that knows all modes: what the pedal is doing now, and where the player moved it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from pedal.modes.band import Band, pulse_order
from pedal.modes.blind import Blind
from pedal.modes.curl import Curl
from pedal.modes.drone import SILENCE, STEPS, DroneOrder, drone_order
from pedal.modes.echo import Echo
from pedal.modes.history import History
from pedal.modes.input_events import (
    Action,
    BeatsBegan,
    Command,
    DevicesFound,
    Heard,
    InputEvent,
    LivePitch,
    LogPaused,
    PartFailed,
    SwitchTrouble,
)
from pedal.modes.ladder import Ladder
from pedal.modes.log_entry import LogEntry
from pedal.modes.margins import Margins
from pedal.modes.memory import Memory, remember, restore
from pedal.modes.menu import Menu
from pedal.modes.menu_items import TONICS
from pedal.modes.mode import Mode
from pedal.modes.recall import Recall
from pedal.modes.screen_model import ScreenModel
from pedal.modes.state import ModeName, PedalState
from pedal.modes.string_now import StringNow
from pedal.modes.tune import Tune
from pedal.modes.watch import Watch
from pedal.pitch.reading import Reading
from pedal.progress.lookback import Lookback
from pedal.theory.scale import Key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict

__all__ = ["Answer", "DroneOrder", "Pedal", "PedalState"]

Word = TypeVar("Word")


@dataclass(frozen=True, slots=True)
class Answer:
    """What follows from one happening.

    entries : lines for the log.
    drone : a new order for the drone; None means unchanged.
    remember : `memory()` has changed and is worth writing.
    """

    entries: tuple[LogEntry, ...] = ()
    drone: DroneOrder | None = None
    remember: bool = False


_NOTHING = Answer()


class Pedal:
    """`.step(happening)` moves on; `.aim` and `.screen()` say where we are; `.memory()` is what outlives a power cut.

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
        self._state = _on_the_neck(restore(settings, remembered))
        self._margins, self._menu = Margins(), Menu()
        self._history = History(past)
        self._string, self._band = StringNow(), Band()
        self._ladder = Ladder(self._state, self._string, self._history)
        self._blind = Blind(self._state, self._history)
        self._echo = Echo(self._state, self._string)
        self._recall = Recall(self._state, looks)
        self._modes = self._gather_modes()
        self._ladder.recall(remembered)
        self._blind.recall(remembered.get("blind"))
        self._lent = False
        self._before: ModeName = self._state.mode
        self._enter(self._state.mode)
        self.aim = self._find_aim()
        self._remembered = self.memory()

    def _gather_modes(self) -> dict[ModeName, Mode]:
        state, string = self._state, self._string
        modes: tuple[Mode, ...] = (
            Tune(state),
            Watch(state, string, self._band),
            Curl(state, string),
            self._ladder,
            self._blind,
            self._echo,
            self._recall,
        )
        return {mode.name: mode for mode in modes}

    @property
    def _mode(self) -> Mode:
        return self._modes[self._state.mode]

    @property
    def settings(self) -> PedalState:
        """Where the player is now: also the density of the screen and the audio device that were chosen."""
        return self._state

    @property
    def drone(self) -> DroneOrder:
        """What the drone shall play now."""
        state = self._state
        if not state.drone_on:
            return SILENCE
        if state.backing != "drone":
            return pulse_order(state)
        return drone_order(state.key, state.drone, state.chord, a4_hz=state.a4_hz, level_db=state.drone_db)

    def step(self, event: InputEvent) -> Answer:
        """Take one happening. Never raises, whatever the order they come in."""
        if isinstance(event, Reading):  # 375 a second: not through every case below
            self._string.climb(event.hz)
            if self._mode.follows_readings:
                self._mode.hear(event)
            return _NOTHING
        self._margins.hear(event)
        self._band.hear(event)
        match event:
            case SwitchTrouble() | LogPaused() | PartFailed():
                return Answer()
            case BeatsBegan():
                self.aim = self._find_aim()
                return _NOTHING
            case DevicesFound(names=names):
                self._state = replace(self._state, devices=names)
                return Answer()
            case Command(action=action):
                before = self.drone
                entries = self._obey(action)
                after = self.drone
                if after != before:
                    self._band.forget()
                return self._answer(entries, after if after != before else None)
            case _:
                silent = isinstance(event, LivePitch) and not self._string.sounding
                if silent and self._band.goals(self._state) != self._goals:
                    self.aim = self._find_aim()  # another chord; a bend that sounds keeps the target it began with
                entries = self._hear(event)
                return self._answer(entries, None) if entries else _NOTHING

    def _hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """What comes from the strings goes to the mode; a note that ends while the menu is up is not judged."""
        self._string.hear(heard)
        if self._menu.open:
            self._menu.hear(heard)
            if isinstance(heard, Verdict):
                return ()
        return self._mode.hear(heard)

    def screen(self) -> ScreenModel:
        """What the screen says now."""
        state = self._state
        name = "menu" if self._menu.open else state.mode
        chord, beat = self._band.words(state), self._band.beat(state)
        status = self._margins.status(name, str(state.key), drone=state.drone_on, chord=chord, beat=beat)
        return self._menu.screen(status, state) if self._menu.open else self._mode.screen(status)

    def memory(self) -> Memory:
        """Plain words to remember: mode, key, position, target, what the menu changed.

        Whether the drone was on is not among them: after a power cut it does not come back by itself, unless the mode
        is Blind, which is played against one.
        """
        return remember(self._state) | self._ladder.remember() | {"blind": self._blind.index}

    def _answer(self, entries: tuple[LogEntry, ...], drone: DroneOrder | None) -> Answer:
        state = self._state
        entries = tuple(self._band.marked(state, replace(entry, drone=state.drone_on)) for entry in entries)
        self._history.add(entries)
        self._recall.add(entries)
        self.aim = self._find_aim()
        memory = self.memory()
        changed, self._remembered = memory != self._remembered, memory
        return Answer(entries, drone, remember=changed)

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
                self._take_from_menu(self._menu.command(action, self._state))
            case _:
                return self._play(action)
        return ()

    def _take_from_menu(self, state: PedalState) -> None:
        self._echo.give_up()
        if (state.drone, state.drone_on) != (self._state.drone, self._state.drone_on):
            self._lent = False
        self._move(state)

    def _play(self, action: Action) -> tuple[LogEntry, ...]:
        """What moves the player about, or means something in the mode itself."""
        state = self._state
        match action:
            case "next_mode" | "previous_mode":
                self._enter(_neighbour(state.modes, state.mode, 1 if action == "next_mode" else -1))
            case "recall":
                self._enter("recall")
            case "back":
                self._enter(self._before)
            case "next_key" | "previous_key":
                self._move(replace(state, key=_key_beside(state.key, 1 if action == "next_key" else -1)))
            case "next_position" | "previous_position":
                self._move(_position_beside(state, 1 if action == "next_position" else -1))
            case "cross_off":
                return self._cross_off()
            case _:
                return self._mode.command(action)
        return ()

    def _enter(self, name: ModeName) -> None:
        """Another mode. A drone that a mode asked for goes with it; one that the player switched on stays."""
        self._echo.give_up()
        self._before = self._state.mode
        drone_on = self._state.drone_on and not self._lent
        self._lent = self._modes[name].wants_drone and not drone_on
        self._move(replace(self._state, mode=name, drone_on=drone_on or self._lent))

    def _move(self, state: PedalState) -> None:
        if state == self._state:
            return
        self._state = _on_the_neck(state)
        for mode in self._modes.values():
            mode.move(self._state)

    def _cross_off(self) -> tuple[LogEntry, ...]:
        """The bend asked for is never asked for again; it is logged as skipped."""
        rung = self._mode.rung
        if rung is None:
            return ()
        entries = self._mode.command("skip")
        self._move(replace(self._state, crossed_off=self._state.crossed_off | {rung.crossing}))
        return entries

    def _find_aim(self) -> Aim:
        state, mode = self._state, self._mode
        self._goals = self._band.goals(state)
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


def _key_beside(key: Key, step: int) -> Key:
    """The same scale a semitone up or down, spelled with fewest accidentals."""
    tonic = next(t for t in TONICS if t.semitone == (key.tonic.semitone + step) % 12)
    return replace(key, tonic=tonic)


def _position_beside(state: PedalState, step: int) -> PedalState:
    held = state.held_positions()
    return replace(state, position=_neighbour(held, state.position, step)) if held else state


def _on_the_neck(state: PedalState) -> PedalState:
    """The nearest position that the neck holds, where it holds any."""
    held = state.held_positions()
    if not held or state.position in held:
        return state
    return replace(state, position=min(held, key=lambda number: abs(number - state.position)))
