"""The live pedal from its settings: assembled, run, and assembled again when new settings are to be taken up."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from pedal import wiring
from pedal.errors import DeviceError, SettingsError
from pedal.live import one_at_a_time, real_time
from pedal.live.assembly import Controls, Panel, assemble
from pedal.live.capture import Capture
from pedal.live.drone_player import DronePlayer
from pedal.live.engine import Engine
from pedal.live.fault_file import FILE_NAME as FAULTS
from pedal.live.fault_file import FaultFile
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop, Outcome, Signalled
from pedal.live.memory_file import FILE_NAME, MemoryFile, still_holding
from pedal.live.past import entries_before, looks_back
from pedal.live.printer import Printer
from pedal.live.remarks import Remarks
from pedal.live.starting_state import starting_state, with_words
from pedal.modes.memory import Memory, remember
from pedal.modes.pedal import Pedal
from pedal.ports import Lamp, Screen
from pedal.settings.parts import Settings
from pedal.takes import TakeKeeper

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


class LiveSession:
    """Call `run_once` until it returns something other than "reload": settings and memory go over into the next run."""

    def __init__(self, wanted: Wanted, printer: Printer, remarks: Remarks) -> None:
        self._wanted, self._printer, self._remarks = wanted, printer, remarks
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
        pedal, log_writer = self._board_and_keeping(settings)
        drone_player = _drone_player(settings, pedal) if self._wanted.drone else None
        capture = Capture(
            lambda: wiring.audio_source(settings.audio, pedal.settings.device),
            keep_trying=self._wanted.wait,
            before_open=drone_player.let_go if drone_player else lambda: None,
            after_open=drone_player.come_back if drone_player else lambda: None,
        )
        parts = assemble(
            pedal,
            capture,
            log_writer=log_writer,
            printer=self._printer,
            panel=self._panel(settings),
            controls=self._controls(settings),
            drone_player=drone_player,
            use_device=capture.reopen,
            make_takes=_make_takes(settings),
        )
        parts.priority = real_time.PRIORITY
        loop = Loop(parts, signals=signals, reload_wanted=lambda: self._reload(parts.engine), remark=self._remarks.say)
        try:
            return loop.run()
        finally:
            self._memory = pedal.memory()

    def _load(self) -> Settings:
        return with_words(wiring.settings(self._wanted.config), key_words=self._wanted.key, a4_hz=None)

    def _reload(self, engine: Engine) -> bool:
        """Whether the file holds good new settings; a broken one changes nothing, and says so."""
        try:
            self._next = self._load()
        except SettingsError as fault:
            for sentence in fault.faults:
                self._remarks.say(sentence)
            engine.notice("SETTINGS", "The new file is broken: the old settings stay.")
            return False
        return True

    def _board_and_keeping(self, settings: Settings) -> tuple[Pedal, LogWriter]:
        state = starting_state(settings)
        if self._wanted.device is not None:
            state = replace(state, device=self._wanted.device)
        given = remember(state)
        remembered = MemoryFile(settings.state.folder / FILE_NAME, given)
        kept = self._memory
        memory = remembered.load() if kept is None else still_holding(kept, then=self._given, now=given)
        self._given = given
        if remembered.note:
            self._remarks.say(remembered.note)
        if kept is None:
            self._let_the_command_line_win(memory)
        log = self._wanted.log or settings.log.path
        faults = FaultFile(settings.state.folder / FAULTS)
        log_writer = LogWriter(lambda: wiring.store(log, most_mb=settings.log.max_mb), remembered, fault_file=faults)
        by_need = memory.get("order", state.order) == "by_need"
        past = entries_before(log, now_wall_s=time.time()) if by_need else []
        return Pedal(state, memory, past, looks_back(log, now_wall_s=time.time())), log_writer

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


def _drone_player(settings: Settings, pedal: Pedal) -> DronePlayer:
    audio = settings.audio
    return DronePlayer(
        lambda: wiring.audio_output(audio, pedal.settings.device),
        lambda rate: wiring.drone_voice(audio, rate),
        rate_hz=audio.rate_hz,
        delay_s=settings.time.delay_ms / 1000,
    )


def _eager(make: Callable[[], Screen]) -> Callable[[], Screen]:
    """The same, with the first screen made now: what cannot be at all shall end the command before it began."""
    first = [make()]
    return lambda: first.pop() if first else make()
