"""The live pedal from its settings: assembled, run, and assembled again when new settings are to be taken up."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pedal import wiring
from pedal.errors import DeviceError, SettingsError, StoreError
from pedal.live import one_at_a_time, real_time, service_manager
from pedal.live.assembly import Controls, Panel, assemble
from pedal.live.broken_settings import fault_page
from pedal.live.capture import Capture
from pedal.live.drone_player import DronePlayer
from pedal.live.engine import Engine
from pedal.live.first_page import remember_panel
from pedal.live.lick_folder import FOLDER, LickFolder
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop, Outcome, Signalled
from pedal.live.memory_file import FILE_NAME, MemoryFile, still_holding
from pedal.live.news import heard
from pedal.live.past import entries_before, looks_back
from pedal.live.printer import Printer
from pedal.live.remarks import FILE_NAME as FAULTS
from pedal.live.remarks import FaultFile, Remarks
from pedal.live.starting_state import starting_state, with_words
from pedal.modes.memory import Memory, remember, restore
from pedal.modes.pedal import Pedal
from pedal.modes.screen_model import MessageScreen
from pedal.ports import Lamp, Screen
from pedal.practice.homework import Homework
from pedal.settings.card import keep_good
from pedal.settings.parts import Settings
from pedal.takes import TakeWriting
from pedal.values import frozen

if TYPE_CHECKING:
    from pedal.live.set_up.running import Outcome as SetUpOutcome

FAULTS_S = 30.0
"""How long what is wrong on the card stays on the panel while no string sounds."""
NEWS_S = 8.0
BROKEN_SETTINGS = ("SETTINGS", "The new file is broken: the old settings stay.")
KEYS = 4
"""Keys of a terminal that stand for footswitches."""


@frozen
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
        self._faults: tuple[str, ...] = ()
        self._news: tuple[str, ...] = ()
        self._settings = self._load()
        self._next: Settings = self._settings
        self._given: Memory = {}
        self._memory: Memory | None = None
        self._broken_settings = self._broken_homework = False

    def run_once(self, signals: Signalled) -> Outcome:
        """One loop, from the first block to the last; raises AlreadyRunningError if another has our state folder."""
        settings = self._settings = self._next
        held = one_at_a_time.hold(settings.state.folder)
        try:
            return self._run(settings, signals)
        finally:
            one_at_a_time.let_go(held)

    def _run(self, settings: Settings, signals: Signalled) -> Outcome:
        pedal, log_writer = self._pedal_and_log_writer(settings)
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
            takes=_takes(settings),
        )
        parts.priority = real_time.PRIORITY
        self._show_faults(parts.engine)
        if self._news:
            parts.engine.show_notice(MessageScreen("STICK", self._news), NEWS_S)
            self._news = ()
        if self._broken_settings:
            parts.engine.notice(*BROKEN_SETTINGS)
            self._broken_settings = False
        if self._broken_homework:
            parts.engine.notice("HOMEWORK", "The file is broken: undertoe check names its faults.")
        loop = Loop(
            parts,
            signals=signals,
            reload_wanted=lambda: self._reload(parts.engine),
            set_up_wanted=lambda: pedal.set_up_wanted,
            remark=self._remarks.say,
        )
        try:
            return loop.run()
        finally:
            self._memory = pedal.memory()

    def set_up(self, signals: Signalled, *, first: bool) -> SetUpOutcome:
        """The set-up on this pedal's own screen; what it found holds from the next run on.

        first : all steps, and nobody may be there; else the player asked for the list of steps.
        """
        from pedal.live.set_up.starting import set_up_pedal

        outcome: SetUpOutcome = "over"
        try:
            outcome = set_up_pedal(
                self._wanted.config,
                signals=signals,
                say=self._remarks.say,
                in_terminal=self._wanted.display == "terminal",
                first=first,
                waits=False,
            )
            self._next = self._load()
        except SettingsError as fault:  # broken since they were read: before the set-up, or while it was on the panel
            self._say_each(fault)
            self._broken_settings = True
        news = heard(self._next.state.folder)  # a stick that came meanwhile: the set-up takes no notice of it
        if news is not None:
            self._news = news.sentences
        return outcome

    def _load(self) -> Settings:
        layered = wiring.layered_settings(self._wanted.config)
        self._faults = layered.faults
        for sentence in layered.faults:
            self._remarks.say(f"{sentence} (the last good settings hold)")
        try:
            keep_good(layered)
        except StoreError as fault:  # it only means that a slip on the card leaves the installed ones alone
            self._remarks.say(str(fault))
        return with_words(layered.settings, key_words=self._wanted.key, a4_hz=None)

    def _reload(self, engine: Engine) -> bool:
        """Whether the file holds good new settings; a broken one changes nothing, and says so."""
        try:
            self._next = self._load()
        except SettingsError as fault:
            self._say_each(fault)
            engine.notice(*BROKEN_SETTINGS)
            return False
        news = heard(self._settings.state.folder)
        if self._next != self._settings or (news is None and not self._faults) or (news is not None and news.anew):
            self._news = news.sentences if news is not None else ()
            return True
        self._show_faults(engine)
        if news is not None:
            engine.show_notice(MessageScreen("STICK", news.sentences), NEWS_S)
        return False

    def _say_each(self, fault: SettingsError) -> None:
        for sentence in fault.faults:
            self._remarks.say(sentence)

    def _show_faults(self, engine: Engine) -> None:
        if self._faults:
            engine.show_notice(fault_page(self._faults), FAULTS_S)

    def _pedal_and_log_writer(self, settings: Settings) -> tuple[Pedal, LogWriter]:
        state = starting_state(settings)
        if self._wanted.device is not None:
            state = replace(state, device=self._wanted.device)
        licks = LickFolder(settings.state.folder / FOLDER)
        state = replace(state, licks=licks.load())
        for sentence in licks.faults:
            self._remarks.say(sentence)
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
        log_writer = LogWriter(
            lambda: wiring.store(log, most_mb=settings.log.max_mb), remembered, fault_file=faults, licks=licks
        )
        needed = memory.get("order", state.order) == "by_need" or "round" in state.modes
        now_wall_s = time.time()
        homework = self._homework(settings, now_wall_s)
        # On a slow board a long log takes seconds to read, twice, while nothing is heard that could feed the watchdog,
        # which does not watch before the pedal is ready.
        still_there = service_manager.alive if kept is not None else lambda: None
        still_there()
        past = entries_before(log, now_wall_s=now_wall_s) if needed or homework else []
        still_there()
        player = restore(state, memory).player  # who plays now: the settings may have lost the name of who played last
        looks = looks_back(log, now_wall_s=now_wall_s, player=player, bands=state.bands)
        still_there()
        return Pedal(replace(state, homework=homework), memory, past, looks), log_writer

    def _homework(self, settings: Settings, now_wall_s: float) -> Homework | None:
        """What a teacher put beside the settings, on the clock of this session; a broken file stops nothing."""
        self._broken_homework = False
        try:
            homework = wiring.homework(self._wanted.config, settings, now_wall_s=now_wall_s)
        except SettingsError as fault:
            self._broken_homework = True
            self._say_each(fault)
            return None
        return None if homework is None else replace(homework, since_s=homework.since_s - now_wall_s)

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
        if self._wanted.wait:
            remember_panel(settings.state.folder, display)
        lamp = self._lamp(settings.lamp.pin)
        if display.kind == "none":
            return None if lamp is None else Panel(None, display, lamp)
        return Panel(lambda: wiring.panel(display), display, lamp, ages=True)

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


def _takes(settings: Settings) -> TakeWriting | None:
    takes = settings.takes
    return TakeWriting(takes.folder, most_bytes=takes.max_mb * 1_000_000) if takes.keep else None


def _drone_player(settings: Settings, pedal: Pedal) -> DronePlayer:
    audio = settings.audio
    return DronePlayer(
        lambda: wiring.audio_output(audio, pedal.settings.device),
        lambda rate: wiring.drone_voice(audio, rate),
        rate_hz=audio.rate_hz,
    )


def _eager(make: Callable[[], Screen]) -> Callable[[], Screen]:
    """The same, with the first screen made now: what cannot be at all shall end the command before it began."""
    first = [make()]
    return lambda: first.pop() if first else make()
