"""The whole loop on doubles: what it survives, what ends it, and in what words."""

from __future__ import annotations

import queue
import signal
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pedal.errors import DeviceError
from pedal.live import service_manager
from pedal.live.assembly import Controls, Panel, assemble
from pedal.live.capture import Capture
from pedal.live.engine import Engine
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop, Outcome, Parts
from pedal.live.printer import Printer
from pedal.modes.input_events import Command
from pedal.modes.menu import NAMES
from pedal.modes.pedal import Pedal, PedalState
from pedal.ports import Block, Screen, StreamFacts
from pedal.settings.load import load
from pedal.takes import TakeWriting
from pedal.verdicts.verdict import Verdict
from tests.live.doubles import (
    DEADLINE_S,
    DeadScreen,
    HandedSignals,
    HandSwitches,
    ListStore,
    MemoryScreen,
    ScriptedSource,
    a_bend_in_blocks,
)

# Written out, and not taken from the code, so that a change of it is seen.
STOP_S = 0.9

GONE = DeviceError("the audio input stopped: plug it in again")
SETTINGS = load(None, environment={"HOME": "/nowhere"})


class Running:
    """A loop in a thread of its own, with everything around it in the test's hands."""

    def __init__(self, make_source: Callable[[], Any], **options: Any) -> None:
        self.signals, self.store = HandedSignals(), options.pop("store", ListStore())
        self.remarks: list[str] = []
        self.verdicts: list[Verdict] = []
        self.outcome: Outcome | None = None
        self.fault: BaseException | None = None
        reload_wanted = options.pop("reload_wanted", lambda _: False)
        set_up_wanted = options.pop("set_up_wanted", lambda: False)
        capture = Capture(make_source, live=options.pop("live", False), keep_trying=options.pop("keep_trying", False))
        printer = Printer(self._line)
        self.log_writer = LogWriter(lambda: self.store, None)
        self.parts: Parts = assemble(
            Pedal(PedalState()), capture, log_writer=self.log_writer, printer=printer, **options
        )
        engine: Engine = self.parts.engine
        self.loop = Loop(
            self.parts,
            signals=self.signals,
            reload_wanted=lambda: reload_wanted(engine),
            set_up_wanted=set_up_wanted,
            remark=self.remarks.append,
        )
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _line(self, verdict: Verdict) -> str:
        self.verdicts.append(verdict)
        return ""

    def _run(self) -> None:
        try:
            self.outcome = self.loop.run()
        except BaseException as fault:
            self.fault = fault

    def end(self, how: signal.Signals | None = None) -> Outcome | None:
        """Its outcome, after a signal or by itself; raises what it died of."""
        if how is not None:
            self.signals.send(how)
        self._thread.join(DEADLINE_S)
        assert not self._thread.is_alive(), "the loop did not end"
        if self.fault is not None:
            raise self.fault
        return self.outcome

    def until(self, true: Callable[[], object]) -> None:
        end_s = time.monotonic() + DEADLINE_S
        while not true():
            assert self._thread.is_alive(), (self.fault, self.remarks)
            assert time.monotonic() < end_s, self.remarks
            threading.Event().wait(0.005)


@pytest.fixture
def run() -> Iterator[Callable[..., Running]]:
    running: list[Running] = []

    def begin(make_source: Callable[[], Any], **options: Any) -> Running:
        running.append(Running(make_source, **options))
        return running[-1]

    yield begin
    for one in running:
        one.signals.send(signal.SIGTERM)
        one._thread.join(DEADLINE_S)


def a_take() -> ScriptedSource:
    return ScriptedSource(list(a_bend_in_blocks()), ends=True)


def panel(make: Callable[[], Screen], **options: Any) -> Panel:
    return Panel(make, SETTINGS.display, **options)


def words(verdicts: list[Verdict]) -> list[tuple[str, str]]:
    return [(verdict.kind, verdict.verdict) for verdict in verdicts]


def test_a_take_is_judged_logged_shown_and_over(run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pedal.live.assembly.FILM_PATIENCE_S", DEADLINE_S)  # for a screen that hangs: this one is slow
    screen = MemoryScreen()
    running = run(a_take, panel=panel(lambda: screen, film=True))
    assert running.end() == "over"
    assert words(running.verdicts) == [("bend", "true")]
    assert [entry.verdict for entry in running.store.entries] == running.verdicts
    assert running.store.closed
    # Frames fall due by the clock, and this take is heard far faster than it would be played: how many there are
    # depends on the machine. The screen before the note and the verdict after it always come.
    assert len({picture.tobytes() for picture in screen.pictures}) >= 2
    assert screen.closed


def test_a_note_that_still_sounds_when_it_is_stopped_is_judged_and_kept(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch
) -> None:
    # For a machine that is slow. What a driver that hangs leaves of the time is judged by a clock of its own, below.
    monkeypatch.setattr("pedal.live.loop.STOP_S", DEADLINE_S)
    sounding = [block for block in a_bend_in_blocks() if np.abs(block.samples).max() > 0.01]
    source = StillSounding(sounding)
    running = run(lambda: source)
    running.until(lambda: running.parts.engine.judged_blocks >= len(sounding) - 1)
    running.signals.send(signal.SIGTERM)
    assert running.parts.workers[-1]._stop.wait(DEADLINE_S)
    source.hangs.set()
    assert running.end() == "stopped"
    assert [verdict.kind for verdict in running.verdicts] == ["bend"]
    assert all(worker.stop(DEADLINE_S) for worker in running.parts.workers)  # the process waits for the log as well
    assert len(running.store.entries) == 1


class HeldOpen(ScriptedSource):
    """After its last block it hangs, as a device does that has been unplugged without a word."""

    def __init__(self, blocks: list[Block]) -> None:
        super().__init__(list(blocks))
        self.hangs = threading.Event()

    def read(self) -> Block | None:
        if self._steps:
            return super().read()
        self.hangs.wait(2 * DEADLINE_S)
        return None


class StillSounding(HeldOpen):
    """Gives nothing more until it is let go of, and no sound then: the stream is not over, and no silence has come."""

    def read(self) -> Block | None:
        return super().read() or Block(np.zeros(0, np.float32))


@pytest.mark.parametrize(("how", "outcome"), [(signal.SIGTERM, "stopped"), (signal.SIGINT, "interrupted")])
def test_it_ends_by_either_signal_and_says_so(run: Callable[..., Running], how: signal.Signals, outcome: str) -> None:
    running = run(lambda: ScriptedSource([]), live=True, panel=panel(MemoryScreen))
    running.until(lambda: running.parts.engine.judged_blocks)
    assert running.end(how) == outcome
    assert all(worker.stop(DEADLINE_S) for worker in running.parts.workers)


@pytest.mark.soak  # of a clock: on a busy machine it says nothing
@pytest.mark.parametrize(("how", "outcome"), [(signal.SIGTERM, "stopped"), (signal.SIGINT, "interrupted")])
def test_it_stops_within_the_promised_second(run: Callable[..., Running], how: signal.Signals, outcome: str) -> None:
    running = run(lambda: ScriptedSource([]), live=True, panel=panel(MemoryScreen))
    running.until(lambda: running.parts.engine.judged_blocks)
    begun_s = time.monotonic()
    assert running.end(how) == outcome
    assert time.monotonic() - begun_s < STOP_S + 0.5
    assert running.remarks == ["listening to double, channel 1, at 48000 Hz", "at the end: nothing was lost"]


def test_it_stops_in_time_though_a_driver_hangs(run: Callable[..., Running]) -> None:
    source = HeldOpen([Block(np.zeros(128, np.float32))])
    running = run(lambda: source)
    running.until(lambda: running.parts.engine.judged_blocks)
    assert running.end(signal.SIGTERM) == "stopped"
    source.hangs.set()
    assert "the part for capture did not stop in time" in running.remarks


def test_the_film_of_a_take_that_is_over_is_waited_for(run: Callable[..., Running]) -> None:
    """Longer than a pedal may take to stop: a film that is still being written when the command returns is none."""

    class Slow(MemoryScreen):
        def close(self) -> None:
            threading.Event().wait(2 * STOP_S)
            super().close()

    screen = Slow()
    running = run(a_take, panel=panel(lambda: screen, film=True))
    assert running.end() == "over"
    assert screen.closed
    assert not any("did not stop in time" in remark for remark in running.remarks)


def test_a_silent_driver_is_told_in_a_sentence(run: Callable[..., Running]) -> None:
    source = HeldOpen([Block(np.zeros(128, np.float32))])
    running = run(lambda: source, live=True)
    running.until(lambda: any("stopped without a word" in remark for remark in running.remarks))
    source.hangs.set()
    assert running.end(signal.SIGTERM) == "stopped"


class HangsWhereItIs(ScriptedSource):
    """Hangs in the driver, while it is opened or while it is closed, until the test lets it go."""

    def __init__(self, where: str, steps: list[Block | Exception]) -> None:
        super().__init__(steps)
        self._where, self.let_go = where, threading.Event()

    def open(self) -> StreamFacts:
        if self._where == "open":
            self.let_go.wait(DEADLINE_S)
        return super().open()

    def close(self) -> None:
        if self._where == "close":
            self.let_go.wait(DEADLINE_S)
        super().close()


@pytest.mark.parametrize("where", ["open", "close"])
def test_a_driver_that_hangs_over_a_lost_input_ends_it_too(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    monkeypatch.setattr("pedal.live.loop.STALL_S", 0.2)
    monkeypatch.setattr("pedal.live.loop.GIVE_UP_S", 0.4)
    hanging = HangsWhereItIs(where, [*a_bend_in_blocks(), GONE])
    sources = [ScriptedSource([*a_bend_in_blocks(), GONE]), hanging] if where == "open" else [hanging]
    running = run(lambda: sources.pop(0), live=True)
    with pytest.raises(DeviceError, match="its driver does not let go"):
        running.end()
    hanging.let_go.set()


def test_a_take_that_waits_for_slow_pictures_is_not_called_silent(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.loop.STALL_S", -1.0)
    running = run(a_take)
    running.end()
    assert [remark for remark in running.remarks if "stopped without a word" in remark] == []


def test_no_input_ends_it_with_the_sentence_of_the_device(run: Callable[..., Running]) -> None:
    running = run(lambda: ScriptedSource([], at_open=GONE))
    with pytest.raises(DeviceError, match="plug it in again"):
        running.end()


@pytest.mark.parametrize("rate_after", [48_000, 44_100])
def test_time_goes_on_over_a_lost_input_whatever_its_new_rate(run: Callable[..., Running], rate_after: int) -> None:
    from tests.live.doubles import blocks_of
    from tests.live.true_bend import a_true_bend

    again = ScriptedSource(list(blocks_of(a_true_bend(rate=rate_after))), rate=rate_after, ends=True)
    sources = [ScriptedSource([*a_bend_in_blocks(), GONE]), again]
    running = run(lambda: sources.pop(0))
    assert running.end() == "over"
    assert words(running.verdicts) == [("bend", "true")] * 2
    first, second = running.verdicts
    assert second.onset_s > first.end_s
    assert str(GONE) in running.remarks


def test_a_panel_that_dies_is_made_again_and_the_pedal_goes_on(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.display.RETRY_S", 0.0)
    good = MemoryScreen()
    screens: list[MemoryScreen] = [DeadScreen(), DeadScreen(), good]
    dead = screens[:2]
    source = ScriptedSource([*a_bend_in_blocks()])
    running = run(lambda: source, panel=panel(lambda: screens.pop(0), film=True))
    running.until(lambda: good.pictures and running.verdicts)
    assert running.end(signal.SIGTERM) == "stopped"
    assert words(running.verdicts) == [("bend", "true")]
    assert all(screen.closed for screen in dead)


def test_a_panel_that_is_not_there_costs_only_the_picture(run: Callable[..., Running]) -> None:
    def absent() -> Screen:
        raise DeviceError("the panel does not answer: check its wires")

    running = run(a_take, panel=panel(absent))
    assert running.end() == "over"
    assert words(running.verdicts) == [("bend", "true")]
    complaint = "the panel does not answer: check its wires (the pedal goes on and tries the screen again)"
    assert running.remarks.count(complaint) == 1


def test_a_full_disk_pauses_the_log_and_nothing_else(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.log_writer.RETRY_S", 0.0)
    store = ListStore()
    store.broken = True
    running = run(lambda: ScriptedSource([*a_bend_in_blocks()]), store=store)
    running.until(lambda: running.log_writer.paused)
    running.until(lambda: "the disk is full: make room" in running.log_writer.remarks)
    store.broken = False
    running.until(lambda: running.store.entries)
    running.until(lambda: not running.log_writer.paused)
    assert running.end(signal.SIGTERM) == "stopped"
    assert words([entry.verdict for entry in running.store.entries if entry.verdict]) == [("bend", "true")]


def test_switches_move_the_pedal(run: Callable[..., Running]) -> None:
    feet = HandSwitches()
    running = run(lambda: ScriptedSource([]), live=True, controls=Controls(feet, 2, SETTINGS.switches))
    running.until(lambda: running.parts.engine.judged_blocks)
    before = running.parts.engine._pedal.settings.mode
    now_s = time.monotonic()
    feet.edge(now_s, 1, True)
    running.until(lambda: running.parts.engine._pedal.settings.mode != before)
    assert running.end(signal.SIGTERM) == "stopped"
    assert feet.closed


def test_switches_that_cannot_be_read_are_said_and_done_without(run: Callable[..., Running]) -> None:
    feet = HandSwitches(DeviceError("footswitch 1 cannot be read: check its wire"))
    running = run(a_take, controls=Controls(feet, 2, SETTINGS.switches))
    assert running.end() == "over"
    assert "footswitch 1 cannot be read: check its wire (the pedal goes on without switches)" in running.remarks


def test_a_switch_that_chatters_is_dropped_and_said(run: Callable[..., Running]) -> None:
    feet = HandSwitches()
    hung = HeldOpen([])
    running = run(lambda: hung, controls=Controls(feet, 2, SETTINGS.switches))
    running.until(lambda: running.remarks)
    for index in range(100_000):
        feet.edge(time.monotonic(), 1, bool(index % 2))
        if any("chatters" in remark for remark in running.remarks):
            break
    assert any("chatters" in remark for remark in running.remarks)
    hung.hangs.set()
    running.end(signal.SIGTERM)


def test_hang_up_takes_good_settings_up(run: Callable[..., Running]) -> None:
    running = run(lambda: ScriptedSource([]), live=True, reload_wanted=lambda _: True)
    running.until(lambda: running.parts.engine.judged_blocks)
    assert running.end(signal.SIGHUP) == "reload"


def test_the_set_up_chosen_in_the_menu_ends_the_loop_for_it(run: Callable[..., Running]) -> None:
    running = run(lambda: ScriptedSource([]), live=True, set_up_wanted=lambda: True)
    assert running.end() == "set_up"


def test_hang_up_with_broken_settings_changes_nothing(run: Callable[..., Running]) -> None:
    asked = []

    def broken(engine: Engine) -> bool:
        asked.append("asked")
        engine.notice("SETTINGS", "The new file is broken: the old settings stay.")
        return False

    running = run(lambda: ScriptedSource([]), live=True, reload_wanted=broken)
    running.until(lambda: running.parts.engine.judged_blocks)
    running.signals.send(signal.SIGHUP)
    running.until(lambda: asked)
    before = running.parts.engine.judged_blocks
    running.until(lambda: running.parts.engine.judged_blocks > before + 3)
    assert running.end(signal.SIGTERM) == "stopped"


def test_the_collector_is_off_while_it_runs_and_on_afterwards(run: Callable[..., Running]) -> None:
    import gc

    running = run(lambda: ScriptedSource([]), live=True)
    running.until(lambda: running.parts.engine.judged_blocks)
    assert not gc.isenabled()
    running.end(signal.SIGTERM)
    assert gc.isenabled()


@pytest.fixture
def manager(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Callable[[], list[str]]]:
    """A service manager's socket; called, it gives what has come.

    Each word is taken out as soon as it is sent: the kernel holds ten of them, and what comes then is lost.
    """
    import socket

    told: queue.SimpleQueue[str] = queue.SimpleQueue()
    address = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as pipe:
        pipe.bind(str(address))
        pipe.setblocking(False)
        monkeypatch.setenv("NOTIFY_SOCKET", str(address))
        monkeypatch.setenv("WATCHDOG_USEC", "200000")
        monkeypatch.delenv("WATCHDOG_PID", raising=False)
        notify = service_manager.notify

        def notify_and_take_out(state: str) -> bool:
            taken = notify(state)
            if taken:
                told.put(pipe.recv(256).decode())
            return taken

        monkeypatch.setattr(service_manager, "notify", notify_and_take_out)
        yield lambda: [told.get() for _ in range(told.qsize())]


def test_the_manager_is_told_of_the_first_block_of_life_and_of_the_stop(
    run: Callable[..., Running], manager: Callable[[], list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.loop.STALL_S", DEADLINE_S)  # its sentence may come after the stop
    running = run(lambda: ScriptedSource([]), live=True)
    told: list[str] = []
    running.until(lambda: told.extend(manager()) or told.count("WATCHDOG=1") >= 3)
    running.end(signal.SIGTERM)
    told += manager()
    assert told[0] == "READY=1"
    assert told.count("READY=1") == 1
    assert told[-1] == "STOPPING=1"


def test_the_watchdog_starves_when_sound_is_no_longer_judged(
    run: Callable[..., Running], manager: Callable[[], list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.loop.STALL_S", DEADLINE_S)  # a slow machine may take longer to open the input
    source = HeldOpen([Block(np.zeros(128, np.float32))])
    running = run(lambda: source, live=True)
    running.until(lambda: running.parts.engine.judged_blocks)
    manager()
    monkeypatch.setattr("pedal.live.loop.STALL_S", 1.0)
    running.until(lambda: any("stopped without a word" in remark for remark in running.remarks))
    # The one block, and a last look for the input; in the second until it says so there are ten turns to feed it.
    assert manager().count("WATCHDOG=1") <= 2
    source.hangs.set()
    running.end(signal.SIGTERM)


def test_the_watchdog_is_fed_while_a_lost_input_is_looked_for(
    run: Callable[..., Running], manager: Callable[[], list[str]]
) -> None:
    sources = [ScriptedSource([Block(np.zeros(128, np.float32)), GONE])]
    running = run(lambda: sources.pop(0) if sources else ScriptedSource([], at_open=GONE))
    told: list[str] = []
    running.until(lambda: str(GONE) in running.remarks)
    running.until(lambda: told.extend(manager()) or told.count("WATCHDOG=1") >= 3)
    assert running.end(signal.SIGTERM) == "stopped"


def test_a_start_without_an_input_is_ready_at_once_and_says_what_it_waits_for(
    run: Callable[..., Running], manager: Callable[[], list[str]]
) -> None:
    """READY would hold up the machine's own start else: every unit that is ordered after waits for it."""
    running = run(lambda: ScriptedSource([], at_open=GONE), keep_trying=True)
    told: list[str] = []
    running.until(lambda: told.extend(manager()) or (told.count("WATCHDOG=1") >= 3 and f"STATUS={GONE}" in told))
    assert told[0] == "READY=1"
    assert not any(state.startswith("EXTEND_TIMEOUT") for state in told)
    assert running.end(signal.SIGTERM) == "stopped"


def test_an_input_that_never_gives_a_block_does_not_feed_the_watchdog(
    run: Callable[..., Running], manager: Callable[[], list[str]]
) -> None:
    source = HeldOpen([])
    running = run(lambda: source, live=True)
    running.until(lambda: any("stopped without a word" in remark for remark in running.remarks))
    told = manager()
    assert (told[0], told.count("WATCHDOG=1")) == ("READY=1", 0)
    source.hangs.set()
    running.end(signal.SIGTERM)


def test_an_input_that_stays_away_is_said_once(run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pedal.live.capture.BACK_OFF_LEAST_S", 0.001)
    monkeypatch.setattr("pedal.live.capture.BACK_OFF_MOST_S", 0.001)
    tries: list[ScriptedSource] = []

    def make() -> ScriptedSource:
        tries.append(ScriptedSource([], at_open=GONE))
        return tries[-1]

    running = run(make, keep_trying=True)
    running.until(lambda: len(tries) > 20)
    assert running.end(signal.SIGTERM) == "stopped"
    assert running.remarks.count(str(GONE)) == 1


def test_the_manager_hears_of_no_stop_when_settings_are_taken_up(
    run: Callable[..., Running], manager: Callable[[], list[str]]
) -> None:
    running = run(lambda: ScriptedSource([]), live=True, reload_wanted=lambda _: True)
    running.until(lambda: running.parts.engine.judged_blocks)
    assert running.end(signal.SIGHUP) == "reload"
    assert "STOPPING=1" not in manager()


def test_another_input_chosen_on_the_pedal_is_opened_and_time_goes_on(run: Callable[..., Running]) -> None:
    sources = [ScriptedSource([*a_bend_in_blocks()]), a_take()]
    running = run(lambda: sources.pop(0))
    running.until(lambda: running.verdicts)
    running.parts.capture.reopen()
    assert running.end() == "over"
    assert words(running.verdicts) == [("bend", "true")] * 2
    assert running.verdicts[1].onset_s > running.verdicts[0].end_s


def test_the_menu_offers_the_inputs_there_are_and_its_choice_is_taken_up(run: Callable[..., Running]) -> None:
    """The whole way: the names come with the stream, the foot chooses in the menu, the capturing thread opens it."""

    class Interface(ScriptedSource):
        def open(self) -> StreamFacts:
            return replace(super().open(), inputs=("front room", "stage"))

    reopened = threading.Event()
    running = run(lambda: Interface([]), live=True, use_device=reopened.set)
    pedal = running.parts.engine._pedal
    running.until(lambda: pedal.settings.devices)
    assert pedal.settings.devices == ("front room", "stage")
    walk = ["menu", *["next_target"] * NAMES.index("device"), "again", "next_target", "again"]
    running.parts.engine._script.extend(Command(0.0, action) for action in walk)  # type: ignore[arg-type]
    running.until(reopened.is_set)
    assert pedal.settings.device in ("front room", "stage")
    assert running.end(signal.SIGTERM) == "stopped"


def test_the_sound_of_each_note_is_kept_where_wanted(run: Callable[..., Running], tmp_path: Path) -> None:
    running = run(a_take, takes=TakeWriting(tmp_path / "takes", most_bytes=10_000_000))
    assert running.end() == "over"
    (take,) = (tmp_path / "takes").glob("*.wav")
    assert take.name == "take-000001-C4-true.wav"


class ByHand:
    """A loop whose time and looks are the test's, over a capture that never works."""

    def __init__(self) -> None:
        self.now_s = 100.0
        self.remarks: list[str] = []
        self.capture = Capture(lambda: ScriptedSource([]), clock=lambda: self.now_s)
        parts = assemble(
            Pedal(PedalState()), self.capture, log_writer=LogWriter(None, None), printer=Printer(None)
        )  # fmt: skip
        self.loop = Loop(
            parts,
            signals=HandedSignals(),
            reload_wanted=lambda: False,
            remark=self.remarks.append,
            clock=lambda: self.now_s,
        )

    def look(self, *, for_s: float, each_s: float = 0.1) -> list[str]:
        until_s = self.now_s + for_s
        while self.now_s < until_s:
            self.now_s += each_s
            self.loop._watch_capture()
        return self.remarks


def test_a_process_that_was_frozen_does_not_blame_the_driver() -> None:
    hand = ByHand()
    hand.look(for_s=0.3)
    hand.now_s += 5.0
    assert hand.look(for_s=0.3) == []
    (remark,) = hand.look(for_s=0.6)
    assert "stopped without a word" in remark


def test_a_driver_that_takes_seconds_to_open_its_device_is_not_blamed() -> None:
    hand = ByHand()
    hand.capture.opening, hand.capture.last_try_s = True, hand.now_s
    assert hand.look(for_s=9.0) == []
    with pytest.raises(DeviceError, match="has not answered for 10 s"):
        hand.look(for_s=3.0)


def test_an_input_that_goes_on_by_itself_is_no_longer_said_to_have_stopped() -> None:
    """No stream is opened then that would say so; the journal keeps the one line."""
    hand = ByHand()
    hand.loop._tell_status("listening to double")
    for _ in range(2):
        hand.look(for_s=1.5)
        hand.loop._parts.engine.remarks.append(hand.remarks[0])  # the hearing passes on what it was told
        hand.loop._pass_remarks_on()
        assert "stopped without a word" in hand.loop._status
        hand.capture.last_block_s = hand.now_s
        hand.look(for_s=0.3)
        assert hand.loop._status == "listening to double"
    assert len(hand.remarks) == 1


class LongToStop:
    """A part that takes so long to stop by the test's clock; `given_s` is how long it was waited for."""

    fault = None

    def __init__(self, hand: ByHand, name: str, takes_s: float) -> None:
        self.name, self.given_s = name, 0.0
        self.faults: queue.SimpleQueue[Exception] = queue.SimpleQueue()
        self._hand, self._takes_s = hand, takes_s

    def stop(self, timeout_s: float) -> bool:
        self.given_s = timeout_s
        self._hand.now_s += min(timeout_s, self._takes_s)
        return self._takes_s <= timeout_s


def test_a_driver_that_hangs_leaves_a_third_of_the_time_to_the_other_parts() -> None:
    hand = ByHand()
    parts = [LongToStop(hand, *each) for each in (("keeping", 0.02), ("hearing", 0.2), ("capture", 60.0))]
    hand.loop._parts.workers = parts  # type: ignore[assignment]
    hand.loop._stop(STOP_S)
    assert [part.given_s for part in parts] == pytest.approx([0.1, 0.3, 0.6])
    assert hand.remarks == ["the part for capture did not stop in time"]


def test_what_is_lost_is_counted_in_the_status_in_the_journal_and_at_the_end(
    run: Callable[..., Running], manager: Callable[[], list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.live.loop.STALL_S", DEADLINE_S)  # a sentence on it would take the status
    steps = [Block(np.zeros(128, np.float32)), Block(np.zeros(128, np.float32), 24_000, 1)]
    running = run(lambda: ScriptedSource(steps), live=True)
    told: list[str] = []
    lost = "0.50 s of sound lost in 1 gap (1 overflow)"
    status = f"STATUS=listening to double, channel 1, at 48000 Hz ({lost})"
    running.until(lambda: told.extend(manager()) or status in told)
    running.end(signal.SIGTERM)
    assert running.remarks.count(lost) == 1
    assert running.remarks[-1] == f"at the end: {lost}"


def test_what_is_lost_in_stopping_is_told_once() -> None:
    hand = ByHand()
    engine = hand.loop._parts.engine
    engine.judged_blocks, engine.gaps, engine.lost_s = 1, 1, 0.5
    hand.loop._stop(STOP_S)
    assert hand.remarks == ["at the end: 0.50 s of sound lost in 1 gap"]


def test_a_session_without_a_loss_says_so(run: Callable[..., Running]) -> None:
    running = run(lambda: ScriptedSource([]), live=True)
    running.until(lambda: running.parts.engine.judged_blocks)
    running.end(signal.SIGTERM)
    assert running.remarks[-1] == "at the end: nothing was lost"
