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
from pedal.modes.happening import (
    Action,
    BeatsBegan,
    Command,
    DevicesFound,
    Happening,
    Heard,
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
from pedal.modes.place import BoardSettings, ModeName
from pedal.modes.recall import Recall
from pedal.modes.screen_model import ScreenModel
from pedal.modes.string_now import StringNow
from pedal.modes.tried import Tried
from pedal.modes.tune import Tune
from pedal.modes.watch import Watch
from pedal.pitch.reading import Reading
from pedal.theory.scale import Key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict

__all__ = ["Answer", "Board", "BoardSettings", "DroneOrder"]

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


class Board:
    """`.step(happening)` moves on; `.aim` and `.screen()` say where we are; `.memory()` is what outlives a power cut.

    Parameters
    ----------
    settings : BoardSettings
        From the configuration.
    memory : mapping, optional
        What `.memory()` gave before the power went; a damaged value is passed over and the settings stand.
    past : entries of earlier sessions, oldest first
        Their `time_s` on this session's clock, so negative. They teach the order by need and nothing else.
    """

    def __init__(
        self, settings: BoardSettings, memory: Mapping[str, object] | None = None, past: Iterable[LogEntry] = ()
    ) -> None:
        remembered = memory or {}
        self._place = _on_the_neck(restore(settings, remembered))
        self._margins, self._menu = Margins(), Menu()
        self._tried = Tried(past)
        self._string, self._band = StringNow(), Band()
        self._ladder = Ladder(self._place, self._string, self._tried)
        self._blind = Blind(self._place, self._tried)
        self._echo = Echo(self._place, self._string)
        self._recall = Recall(self._place)
        self._modes = self._gather_modes()
        self._ladder.recall(remembered)
        self._blind.recall(remembered.get("blind"))
        self._lent = False
        self._before: ModeName = self._place.mode
        self._enter(self._place.mode)
        self.aim = self._find_aim()
        self._remembered = self.memory()

    def _gather_modes(self) -> dict[ModeName, Mode]:
        place, string = self._place, self._string
        modes: tuple[Mode, ...] = (
            Tune(place),
            Watch(place, string, self._band),
            Curl(place, string),
            self._ladder,
            self._blind,
            self._echo,
            self._recall,
        )
        return {mode.name: mode for mode in modes}

    @property
    def _mode(self) -> Mode:
        return self._modes[self._place.mode]

    @property
    def settings(self) -> BoardSettings:
        """Where the player is now: also the density of the screen and the audio device that were chosen."""
        return self._place

    @property
    def drone(self) -> DroneOrder:
        """What the drone shall play now."""
        place = self._place
        if not place.drone_on:
            return SILENCE
        if place.backing != "drone":
            return pulse_order(place)
        return drone_order(place.key, place.drone, place.chord, a4_hz=place.a4_hz, level_db=place.drone_db)

    def step(self, happening: Happening) -> Answer:
        """Take one happening. Never raises, whatever the order they come in."""
        if isinstance(happening, Reading):  # 375 a second: not through every case below
            self._string.climb(happening.hz)
            if self._mode.follows_readings:
                self._mode.hear(happening)
            return _NOTHING
        self._margins.hear(happening)
        self._band.hear(happening)
        match happening:
            case SwitchTrouble() | LogPaused() | PartFailed():
                return Answer()
            case BeatsBegan():
                self.aim = self._find_aim()
                return _NOTHING
            case DevicesFound(names=names):
                self._place = replace(self._place, devices=names)
                return Answer()
            case Command(action=action):
                before = self.drone
                entries = self._obey(action)
                after = self.drone
                if after != before:
                    self._band.forget()
                return self._answer(entries, after if after != before else None)
            case _:
                if isinstance(happening, LivePitch) and self._band.goals(self._place) != self._goals:
                    self.aim = self._find_aim()  # the chord has changed under the player
                entries = self._hear(happening)
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
        place = self._place
        name = "menu" if self._menu.open else place.mode
        chord, beat = self._band.words(place), self._band.beat(place)
        status = self._margins.status(name, str(place.key), drone=place.drone_on, chord=chord, beat=beat)
        return self._menu.screen(status, place) if self._menu.open else self._mode.screen(status)

    def memory(self) -> Memory:
        """Plain words to remember: mode, key, position, target, what the menu changed.

        Whether the drone was on is not among them: after a power cut it does not come back by itself, unless the mode
        is Blind, which is played against one.
        """
        return remember(self._place) | self._ladder.remember() | {"blind": self._blind.index}

    def _answer(self, entries: tuple[LogEntry, ...], drone: DroneOrder | None) -> Answer:
        place = self._place
        entries = tuple(self._band.marked(place, replace(entry, drone=place.drone_on)) for entry in entries)
        self._tried.add(entries)
        self._recall.add(entries)
        self.aim = self._find_aim()
        memory = self.memory()
        changed, self._remembered = memory != self._remembered, memory
        return Answer(entries, drone, remember=changed)

    def _obey(self, action: Action) -> tuple[LogEntry, ...]:
        match action:
            case "drone":
                self._lent = False
                self._move(replace(self._place, drone_on=not self._place.drone_on))
            case "drone_chord":
                self._move(replace(self._place, chord=(self._place.chord + 1) % len(STEPS)))
            case "model_end":
                return self._mode.command(action)
            case _ if self._menu.open or action == "menu":
                self._take_from_menu(self._menu.command(action, self._place))
            case _:
                return self._play(action)
        return ()

    def _take_from_menu(self, place: BoardSettings) -> None:
        self._echo.give_up()
        if (place.drone, place.drone_on) != (self._place.drone, self._place.drone_on):
            self._lent = False
        self._move(place)

    def _play(self, action: Action) -> tuple[LogEntry, ...]:
        """What moves the player about, or means something in the mode itself."""
        place = self._place
        match action:
            case "next_mode" | "previous_mode":
                self._enter(_neighbour(place.modes, place.mode, 1 if action == "next_mode" else -1))
            case "recall":
                self._enter("recall")
            case "back":
                self._enter(self._before)
            case "next_key" | "previous_key":
                self._move(replace(place, key=_key_beside(place.key, 1 if action == "next_key" else -1)))
            case "next_position" | "previous_position":
                self._move(_position_beside(place, 1 if action == "next_position" else -1))
            case "cross_off":
                return self._cross_off()
            case _:
                return self._mode.command(action)
        return ()

    def _enter(self, name: ModeName) -> None:
        """Another mode. A drone that a mode asked for goes with it; one that the player switched on stays."""
        self._echo.give_up()
        self._before = self._place.mode
        drone_on = self._place.drone_on and not self._lent
        self._lent = self._modes[name].wants_drone and not drone_on
        self._move(replace(self._place, mode=name, drone_on=drone_on or self._lent))

    def _move(self, place: BoardSettings) -> None:
        if place == self._place:
            return
        self._place = _on_the_neck(place)
        for mode in self._modes.values():
            mode.move(self._place)

    def _cross_off(self) -> tuple[LogEntry, ...]:
        """The bend asked for is never asked for again; it is logged as skipped."""
        rung = self._mode.rung
        if rung is None:
            return ()
        entries = self._mode.command("skip")
        self._move(replace(self._place, crossed_off=self._place.crossed_off | {rung.crossing}))
        return entries

    def _find_aim(self) -> Aim:
        place, mode = self._place, self._mode
        self._goals = self._band.goals(place)
        self._string.goals = self._goals
        return Aim(
            place.key,
            judge_as=mode.judge_as,
            target=mode.rung.aim if mode.rung else None,
            bands=place.bands,
            a4_hz=place.a4_hz,
            lowest_midi=place.neck.lowest_midi,
            drone=self._place.drone_on,
            goals=self._goals,
        )


def _neighbour(words: Sequence[Word], now: Word, step: int) -> Word:
    """The word `step` places on in a ring."""
    return words[(words.index(now) + step) % len(words)] if now in words else words[0]


def _key_beside(key: Key, step: int) -> Key:
    """The same scale a semitone up or down, spelled with fewest accidentals."""
    tonic = next(t for t in TONICS if t.semitone == (key.tonic.semitone + step) % 12)
    return replace(key, tonic=tonic)


def _position_beside(place: BoardSettings, step: int) -> BoardSettings:
    held = place.held_positions()
    return replace(place, position=_neighbour(held, place.position, step)) if held else place


def _on_the_neck(place: BoardSettings) -> BoardSettings:
    """The nearest position that the neck holds, where it holds any."""
    held = place.held_positions()
    if not held or place.position in held:
        return place
    return replace(place, position=min(held, key=lambda number: abs(number - place.position)))
