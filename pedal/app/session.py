"""The live pedal from its settings: assembled, run, and assembled again when new settings are to be taken up."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from pedal.app import one_at_a_time, real_time, wiring
from pedal.app.aiming import board_settings, with_words
from pedal.app.assembling import Controls, Panel, assemble
from pedal.app.capture import Capture
from pedal.app.errors import DeviceError, SettingsError
from pedal.app.fault_file import FILE_NAME as FAULTS
from pedal.app.fault_file import FaultFile
from pedal.app.hearing import Hearing
from pedal.app.keeping import DiskKeeping
from pedal.app.loop import Loop, Outcome, Signalled
from pedal.app.past import entries_before
from pedal.app.ports import Lamp, Screen
from pedal.app.remarks import Remarks
from pedal.app.remembered import FILE_NAME, Remembered, still_holding
from pedal.app.settings.parts import Settings
from pedal.app.sounding import Sounding
from pedal.app.takes import TakeKeeper
from pedal.app.telling import Telling
from pedal.modes.board import Board
from pedal.modes.memory import Memory, remember

KEYS = 4
"""Keys of a terminal that stand for footswitches."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the command line asks for; None leaves it to the settings."""

    config: Path | None = None
    device: str | None = None
    display: str | None = None
    pictures: Path | None = None
    headless: bool = False
    key: str | None = None
    mode: str | None = None
    log: Path | None = None
    drone: bool = True
    wait: bool = False


class Session:
    """Call `run_once` until it returns something other than "reload": settings and memory go over into the next run."""

    def __init__(self, wanted: Wanted, telling: Telling, remarks: Remarks) -> None:
        self._wanted, self._telling, self._remarks = wanted, telling, remarks
        self._settings = self._load()
        self._next: Settings = self._settings
        self._given: Memory = {}
        self._memory: Memory | None = None

    def run_once(self, signals: Signalled) -> Outcome:
        """One loop, from the first block to the last; raises AlreadyRunningError if another has our state folder."""
        settings = self._settings = self._next
        held = one_at_a_time.hold(settings.state.folder)
        try:
            return self._run(settings, signals)
        finally:
            one_at_a_time.let_go(held)

    def _run(self, settings: Settings, signals: Signalled) -> Outcome:
        board, keeping = self._board_and_keeping(settings)
        sounding = _sounding(settings, board) if self._wanted.drone else None
        capture = Capture(
            lambda: wiring.audio_source(settings.audio, board.settings.device),
            keep_trying=self._wanted.wait,
            before_open=sounding.let_go if sounding else lambda: None,
            after_open=sounding.come_back if sounding else lambda: None,
        )
        parts = assemble(
            board,
            capture,
            keeping=keeping,
            telling=self._telling,
            panel=self._panel(settings),
            controls=self._controls(settings),
            sounding=sounding,
            use_device=capture.reopen,
            make_takes=_make_takes(settings),
        )
        parts.priority = real_time.PRIORITY
        loop = Loop(parts, signals=signals, reload_wanted=lambda: self._reload(parts.hearing), remark=self._remarks.say)
        try:
            return loop.run()
        finally:
            self._memory = board.memory()

    def _load(self) -> Settings:
        return with_words(wiring.settings(self._wanted.config), key_words=self._wanted.key, a4_hz=None)

    def _reload(self, hearing: Hearing) -> bool:
        """Whether the file holds good new settings; a broken one changes nothing, and says so."""
        try:
            self._next = self._load()
        except SettingsError as fault:
            for sentence in fault.faults:
                self._remarks.say(sentence)
            hearing.notice("SETTINGS", "The new file is broken: the old settings stay.")
            return False
        return True

    def _board_and_keeping(self, settings: Settings) -> tuple[Board, DiskKeeping]:
        place = board_settings(settings)
        if self._wanted.device is not None:
            place = replace(place, device=self._wanted.device)
        given = remember(place)
        remembered = Remembered(settings.state.folder / FILE_NAME, given)
        kept = self._memory
        memory = remembered.load() if kept is None else still_holding(kept, then=self._given, now=given)
        self._given = given
        if remembered.note:
            self._remarks.say(remembered.note)
        if kept is None:
            self._let_the_command_line_win(memory)
        log = self._wanted.log or settings.log.path
        faults = FaultFile(settings.state.folder / FAULTS)
        keeping = DiskKeeping(lambda: wiring.store(log, most_mb=settings.log.max_mb), remembered, fault_file=faults)
        by_need = memory.get("order", place.order) == "by_need"
        past = entries_before(log, now_wall_s=time.time()) if by_need else []
        return Board(place, memory, past), keeping

    def _let_the_command_line_win(self, memory: Memory) -> None:
        """Over what was remembered of another day; what the player does with the pedal afterwards counts again."""
        wanted = self._wanted
        if wanted.key is not None:
            memory.pop("key", None)
        if wanted.device is not None:
            memory.pop("device", None)
        if wanted.mode is not None:
            memory["mode"] = wanted.mode

    def _panel(self, settings: Settings) -> Panel | None:
        display, kind = settings.display, self._wanted.display or "panel"
        if self._wanted.headless or kind == "none":
            return None
        if kind == "terminal":
            return Panel(_eager(wiring.terminal), display)
        if self._wanted.pictures is not None:
            folder = self._wanted.pictures
            return Panel(_eager(lambda: wiring.pictures(folder)), display)
        if display.kind == "none":
            return None
        return Panel(lambda: wiring.panel(display), display, self._lamp(settings.lamp.pin), ages=True)

    def _lamp(self, pin: int | None) -> Lamp | None:
        if pin is None:
            return None
        try:
            return wiring.lamp(pin)
        except DeviceError as fault:
            self._remarks.say(f"{fault} (the pedal goes on without the lamp)")
            return None

    def _controls(self, settings: Settings) -> Controls | None:
        if self._wanted.headless:
            return None
        if self._wanted.display == "terminal":
            return Controls(wiring.keyboard(), KEYS, settings.switches)
        pins = settings.switches.pins
        return Controls(wiring.footswitches(pins), len(pins), settings.switches) if pins else None


def _make_takes(settings: Settings) -> Callable[[int], TakeKeeper] | None:
    takes = settings.takes
    if not takes.keep:
        return None
    return lambda rate: TakeKeeper(takes.folder, sample_rate=rate, most_bytes=takes.max_mb * 1_000_000)


def _sounding(settings: Settings, board: Board) -> Sounding:
    audio = settings.audio
    return Sounding(
        lambda: wiring.audio_output(audio, board.settings.device),
        lambda rate: wiring.drone_voice(audio, rate),
        rate_hz=audio.rate_hz,
        delay_s=settings.time.delay_ms / 1000,
    )


def _eager(make: Callable[[], Screen]) -> Callable[[], Screen]:
    """The same, with the first screen made now: what cannot be at all shall end the command before it began."""
    first = [make()]
    return lambda: first.pop() if first else make()
