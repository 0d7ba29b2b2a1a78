"""Each part of the loop fails over a fault of ours: it begins again, the others go on, the player sees one mark.

The same is done to the real command on a real stream in tests/sound_server/test_faults_of_our_own.py.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pedal.chain import Chain
from pedal.leak.drone_leak import DroneLeak
from pedal.live.display import PanelDisplay
from pedal.live.drone_player import DronePlayer
from pedal.live.log_writer import LogWriter
from pedal.live.messages import Frame
from pedal.live.worker import Mailbox
from pedal.modes.pedal import DroneOrder, Pedal
from pedal.modes.screen_model import MessageScreen
from pedal.ports import Block
from pedal.takes import TakeWriting
from pedal.takes.folder import TakesFolder
from pedal.verdicts.verdict import Verdict
from tests.live.doubles import DEADLINE_S, MemoryScreen, ScriptedSource, a_bend_in_blocks, blocks_of
from tests.live.test_loop import Running, panel, words
from tests.live.true_bend import RATE, a_true_bend


class OursError(Exception):
    """A fault that nobody thought of."""


class Failing:
    """Makes a method raise when `due` is set, so many times; `done` counts how often it did."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, where: type, method: str) -> None:
        self.due = self.done = 0
        real = getattr(where, method)

        def perhaps(this: Any, *words: Any, **named: Any) -> Any:
            if self.due:
                self.due -= 1
                self.done += 1
                raise OursError(f"ours, number {self.done}")
            return real(this, *words, **named)

        monkeypatch.setattr(where, method, perhaps)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., Running]]:
    monkeypatch.setattr("pedal.live.worker.BACK_OFF_LEAST_S", 0.001)
    # A part that is late on a busy machine must not find the ones it hands over to gone.
    monkeypatch.setattr("pedal.live.loop.STOP_S", DEADLINE_S)
    running: list[Running] = []

    def begin(make_source: Callable[[], Any], **options: Any) -> Running:
        running.append(Running(make_source, **options))
        return running[-1]

    yield begin
    for one in running:
        one.signals.send(signal.SIGTERM)
        one._thread.join(DEADLINE_S)


class Paced(ScriptedSource):
    """As quick as it is heard: a live input that is faster than the hearing would lose blocks."""

    def __init__(self, stage: Stage) -> None:
        super().__init__([])
        self._steps, self._stage = stage.steps, stage  # shared: a stream opened anew goes on with what is played now

    def read(self) -> Block | None:
        while self._stage.ahead() > 60 and not self.closed.wait(0.0005):
            pass
        return super().read()


class Stage:
    """Bends on call at an input that never ends, as a stream's."""

    def __init__(self) -> None:
        self.steps: list[Any] = []
        self.ahead: Callable[[], int] = lambda: 0

    def begin(self, run: Callable[..., Running], **options: Any) -> Running:
        running = run(lambda: Paced(self), live=True, **options)
        self.ahead = running.parts.capture.arrivals._things.qsize
        return running

    def play(self, *, until: float = 1.0) -> None:
        """A bend, or its beginning."""
        blocks = a_bend_in_blocks()
        self.steps += blocks[: round(until * len(blocks))]


BENDS = 2
PARTS: dict[str, tuple[type, str]] = {
    "capture": (Paced, "read"),
    "hearing": (Chain, "_hear"),
    "drawing": (MemoryScreen, "show"),
    "keeping": (LogWriter, "_take_in"),
    "telling": (Running, "_line"),
    "sounding": (DronePlayer, "_obey"),
    "takes": (TakesFolder, "add"),
}
"""Where each part is made to fail."""


class Silent:
    """An output that takes everything."""

    def open(self, render: Callable[[int], Any]) -> Any:
        from pedal.ports import StreamFacts

        render(128)
        return StreamFacts("double", RATE, 128, 1)

    def close(self) -> None:
        pass


def a_drone(_: int) -> Any:
    from pedal.synth.drone import Drone

    return Drone(RATE, peak_db=-20.0)


SOUND = ("capture", "hearing", "sounding")
"""The parts that sound goes through: of the others only the long tests ask for a fault between two bends as well."""
CELLS = [
    *((when, part) for when in ("before a bend", "in a bend") for part in SOUND),
    *(("in a bend", part) for part in PARTS if part not in SOUND),
    *(pytest.param("before a bend", part, marks=pytest.mark.wide) for part in PARTS if part not in SOUND),
]


@pytest.mark.parametrize(("when", "part"), CELLS)
def test_a_part_that_fails_begins_again_and_costs_the_note_in_hand_at_the_most(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, part: str, when: str
) -> None:
    fails, stage, screen = Failing(monkeypatch, *PARTS[part]), Stage(), MemoryScreen()
    drone_player = DronePlayer(Silent, a_drone, rate_hz=RATE)
    takes = TakeWriting(tmp_path / "takes", most_bytes=10**9)
    running = stage.begin(run, panel=panel(lambda: screen), drone_player=drone_player, takes=takes)

    def heard_all() -> bool:
        return not stage.steps and not any(worker.fault for worker in running.parts.workers)

    stage.play()
    running.until(lambda: running.verdicts)
    if when == "in a bend":
        stage.play(until=0.4)
        running.until(heard_all)
    fails.due = 1
    if part in ("telling", "drawing", "takes"):  # they work only when something changes
        stage.play()
    running.until(lambda: fails.done)
    for _ in range(BENDS):
        before = words(running.verdicts).count(("bend", "true"))
        stage.play()
        running.until(lambda before=before: words(running.verdicts).count(("bend", "true")) > before)  # type: ignore[misc]
    assert running.end(signal.SIGTERM) == "stopped"
    for worker in running.parts.workers:  # a slow disk may take longer than the loop waits; the process waits as well
        assert worker.stop(DEADLINE_S)
    assert len([remark for remark in running.remarks if f"the part for {part} failed" in remark]) == 1
    assert words(running.verdicts).count(("bend", "true")) >= 1 + BENDS
    logged = [entry.verdict for entry in running.store.entries if entry.verdict]
    assert words(logged).count(("bend", "true")) >= 1 + BENDS
    if part != "telling":  # as a level note, which is only shown, a torn bend may be heard
        assert logged == [verdict for verdict in running.verdicts if verdict.kind != "steady"]
    kept, told = len(list((tmp_path / "takes").iterdir())), sum(running.parts.printer._count.values())
    assert (kept, takes.dropped) == (told - (part == "takes"), int(part == "takes"))


def test_the_player_sees_one_mark_and_it_goes(run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pedal.modes.margins.FAULT_SHOWN_S", 2.0, raising=False)
    fails, stage = Failing(monkeypatch, MemoryScreen, "show"), Stage()
    running = stage.begin(run, panel=panel(MemoryScreen))
    frames, marks = running.parts.engine._frames, list[bool]()
    post = frames.post

    def look_and_post(frame: Frame) -> None:
        if not isinstance(frame.model, MessageScreen) and frame.model.status.fault is not (marks or [None])[-1]:
            marks.append(frame.model.status.fault)
        post(frame)

    monkeypatch.setattr(frames, "post", look_and_post)
    stage.play()
    running.until(lambda: marks)
    fails.due = 1
    stage.play()
    running.until(lambda: fails.done)
    stage.play()
    stage.play()
    running.until(lambda: len(marks) > 2)
    assert running.end(signal.SIGTERM) == "stopped"
    assert marks == [False, True, False]


def test_a_fault_that_comes_again_is_told_once_and_its_trace_is_kept(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from pedal.live.remarks import FaultFile

    failing, stage = Failing(monkeypatch, Running, "_line"), Stage()
    running = stage.begin(run)
    running.log_writer._fault_file = FaultFile(tmp_path / "state" / "faults.txt")
    failing.due = 4
    for _ in range(5):
        stage.play()
    running.until(lambda: running.verdicts)
    assert running.end(signal.SIGTERM) == "stopped"
    assert all(worker.stop(DEADLINE_S) for worker in running.parts.workers)  # the disk may be slow
    told = [remark for remark in running.remarks if "failed" in remark]
    assert told == [
        f"the part for telling failed ({OursError.__module__}.OursError: ours, number 1) and is started again: "
        f"{tmp_path / 'state' / 'faults.txt'} says where"
    ]
    kept = (tmp_path / "state" / "faults.txt").read_text()
    assert kept.count("Traceback (most recent call last)") == 1
    assert "in perhaps" in kept
    assert (tmp_path / "state" / "faults.txt").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("part", ["capture", "hearing", "keeping", "sounding"])
def test_ten_faults_in_a_minute_end_the_program_with_the_last_of_them(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch, part: str
) -> None:
    fails, stage = Failing(monkeypatch, *PARTS[part]), Stage()
    running = stage.begin(run, drone_player=DronePlayer(Silent, a_drone, rate_hz=RATE))
    running.until(lambda: running.parts.engine.judged_blocks)
    fails.due = 1_000_000
    with pytest.raises(OursError, match="number 1"):
        running.end()
    assert fails.done == 10


def test_a_take_does_not_begin_again_from_its_start(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch
) -> None:
    fails = Failing(monkeypatch, ScriptedSource, "read")
    fails.due = 1
    running = run(lambda: ScriptedSource(list(a_bend_in_blocks()), ends=True))
    with pytest.raises(OursError):
        running.end()


def test_what_fails_while_it_is_stopped_is_not_called_done(run: Callable[..., Running]) -> None:
    """A film that cannot be written at the end: the status must not say that it was."""

    class Film(MemoryScreen):
        def close(self) -> None:
            super().close()
            if self.pictures:
                self.pictures.clear()
                raise OursError("the film cannot be written")

    running = run(lambda: ScriptedSource(list(a_bend_in_blocks()), ends=True), panel=panel(Film, film=True))
    with pytest.raises(OursError, match="cannot be written"):
        running.end()


def the_drone_over_everything(samples: np.ndarray, hz: float = 196.0) -> np.ndarray:
    time_s = np.arange(len(samples)) / RATE
    return (samples + 0.004 * np.sin(2 * np.pi * hz * time_s)).astype(np.float32)


def judged(ear: Any, samples: np.ndarray, *, lost_samples: int = 0) -> tuple[list[Verdict], int]:
    """The verdicts, and how often it failed."""
    verdicts: list[Verdict] = []
    faults = 0
    for block in blocks_of(samples):
        try:
            clean = ear.clean(block.samples, lost_samples=lost_samples)
            verdicts += [each for each in ear.judge(clean) if isinstance(each, Verdict)]
        except OursError:
            faults += 1
        lost_samples = 0
    return verdicts, faults


@pytest.mark.parametrize("at_s", [0.0, 0.31, 0.5, 0.65, 0.7, 0.75, 0.9, 1.2, 1.59, 1.8])
def test_a_fault_of_the_chain_costs_the_note_in_hand_and_no_time(monkeypatch: pytest.MonkeyPatch, at_s: float) -> None:
    """What is left of a bend without its beginning would be called flat: 28 cents at 0.7 s, where it was true."""
    from pedal.live.ear import Ear
    from pedal.modes.pedal import PedalState

    aim = Pedal(PedalState()).aim
    bend = a_true_bend()
    (whole,), _ = judged(Ear(RATE, aim, drone=False), bend, lost_samples=1000)
    ear = Ear(RATE, aim, drone=False)
    fails = Failing(monkeypatch, Chain, "_hear")
    before = round(at_s * RATE)
    verdicts, _ = judged(ear, bend[:before], lost_samples=1000)
    fails.due = 1
    more, faults = judged(ear, np.concatenate([bend[before:], bend]), lost_samples=0 if before else 1000)
    verdicts += more
    assert faults == 1
    assert all(verdict.verdict == "true" for verdict in verdicts)
    assert len(verdicts) == (2 if at_s in (0.0, 1.8) else 1)
    assert verdicts[-1].onset_s == pytest.approx(whole.onset_s + len(bend) / RATE, abs=0.004)
    assert verdicts[-1].error_cents == pytest.approx(whole.error_cents, abs=1.0)


def test_a_new_chain_aims_where_the_old_one_did(monkeypatch: pytest.MonkeyPatch) -> None:
    from pedal.live.ear import Ear
    from pedal.modes.pedal import PedalState

    aim = Pedal(PedalState()).aim
    ear = Ear(RATE, aim, drone=False)
    ear.aim = replace(aim, judge_as="curl")
    Failing(monkeypatch, Chain, "_hear").due = 1
    judged(ear, np.zeros(256, np.float32))
    assert ear._chain.aim.judge_as == "curl"


def test_the_filter_of_the_drone_stays_as_it_was_when_the_chain_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    from pedal.live.ear import Ear
    from pedal.modes.pedal import PedalState

    ear = Ear(RATE, Pedal(PedalState()).aim, drone=True)
    ear.expect(DroneOrder((196.0,), -40.0))
    judged(ear, the_drone_over_everything(np.zeros(5 * RATE, np.float32)))
    learned = ear._drone.leak.copy()
    assert len(learned)
    Failing(monkeypatch, Chain, "_hear").due = 1
    _, faults = judged(ear, the_drone_over_everything(np.zeros(6 * RATE, np.float32))[5 * RATE :])
    assert faults == 1
    np.testing.assert_allclose(ear._drone.leak, learned, atol=1e-4)


def test_a_filter_that_fails_learns_the_same_drone_again(monkeypatch: pytest.MonkeyPatch) -> None:
    from pedal.live.ear import Ear
    from pedal.modes.pedal import PedalState

    ear = Ear(RATE, Pedal(PedalState()).aim, drone=True)
    ear.expect(DroneOrder((196.0,), -40.0))
    sound = the_drone_over_everything(np.concatenate([np.zeros(8 * RATE, np.float32), a_true_bend()]))
    judged(ear, sound[: 2 * RATE])
    Failing(monkeypatch, DroneLeak, "clean").due = 1
    verdicts, faults = judged(ear, sound[2 * RATE :])
    assert faults == 1
    assert len(ear._drone.leak)
    assert words(verdicts) == [("bend", "true")]
    assert verdicts[0].onset_s == pytest.approx(8.3, abs=0.01)


def test_the_drone_is_expected_from_where_a_reopened_input_goes_on(run: Callable[..., Running]) -> None:
    """Counted from before the gap, the gate on a drone that begins anew was over before the first sample."""
    from pedal.live.capture import Began
    from pedal.ports import StreamFacts

    running = run(lambda: ScriptedSource([]), live=True, drone_player=DronePlayer(Silent, a_drone, rate_hz=RATE))
    engine = running.parts.engine
    running.until(lambda: engine.judged_blocks)
    running.end(signal.SIGTERM)
    assert all(worker.stop(DEADLINE_S) for worker in running.parts.workers)  # the ear is the test's from here on
    engine._pedal._state = replace(engine._pedal._state, drone_on=True)
    engine._begin(Began(StreamFacts("double", RATE, 128, 1), missed_s=60.0))
    leak = engine._ear._drone
    assert leak is not None
    assert leak._new_until > leak._heard


def test_a_drone_that_cannot_be_made_is_heard_of_though_the_driver_asks_for_it(
    run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The driver's own thread swallows what is raised in it, and the stream would be silent for good."""
    pulled: list[Any] = []

    class Pulling(Silent):
        def open(self, render: Callable[[int], Any]) -> Any:
            pulled.append(render)
            return super().open(lambda _: None)

    drone_player = DronePlayer(Pulling, a_drone, rate_hz=RATE)
    running = run(lambda: ScriptedSource([]), live=True, drone_player=drone_player)
    running.until(lambda: running.parts.engine.judged_blocks)
    drone_player.order(DroneOrder((196.0,), -40.0))
    running.until(lambda: pulled)
    from pedal.synth.drone import Drone

    Failing(monkeypatch, Drone, "render").due = 1
    assert not pulled[0](128).any()
    running.until(lambda: len(pulled) > 1)
    assert running.end(signal.SIGTERM) == "stopped"
    assert len([remark for remark in running.remarks if "the part for sounding failed" in remark]) == 1


def test_a_frame_that_cannot_be_drawn_is_given_up_after_two_tries() -> None:
    frames: Mailbox[Frame] = Mailbox()
    history: list[object] = []

    def draw(frame: Frame, _: object) -> Any:
        history.append(frame)
        raise OursError("this picture")

    panel_display = PanelDisplay(frames, make_screen=MemoryScreen, draw=draw)
    stop = threading.Event()
    frames.post(Frame(MessageScreen("A", ()), awake=True))
    for _ in range(2):
        with pytest.raises(OursError):
            panel_display.work(stop)
    stop.set()
    panel_display.work(stop)
    assert len(history) == 2
