"""An input that is lost and comes back, as the hearing sees it: the panel may sleep, the drone is cleaned out again."""

from __future__ import annotations

import queue
import threading
from typing import Any

import numpy as np
import pytest

import pedal.live.ear
from pedal.live.arrivals import Arrivals
from pedal.live.capture import Arrival, Began, Gone, Over
from pedal.live.engine import Engine
from pedal.live.log_writer import LogWriter
from pedal.live.messages import Frame, SwitchEdge
from pedal.live.worker import Mailbox
from pedal.modes.action_map import ActionMap
from pedal.modes.drone import DroneOrder, LickOrder
from pedal.modes.feet import Feet
from pedal.modes.input_events import Command, InputEvent, LivePitch
from pedal.modes.names import ModeName
from pedal.modes.pedal import Answer, Pedal, PedalState
from pedal.modes.screen_model import MenuScreen
from pedal.notes.event import Onset
from pedal.ports import Block, StreamFacts
from pedal.practice.item import Item
from tests.live.doubles import BLOCK, blocks_of
from tests.live.true_bend import RATE, a_true_bend

FACTS = StreamFacts("double", RATE, BLOCK, 1)


class Script(Arrivals[Arrival]):
    """Arrivals in turn; None is a moment in which nothing comes, and a tenth of a second goes by."""

    def __init__(self, things: list[Arrival | None]) -> None:
        super().__init__(1)
        self._things = [*things, Over()]
        self.now_s = 0.0

    def get(self, timeout_s: float) -> Arrival | None:
        thing = self._things.pop(0)
        self.now_s += len(thing.samples) / RATE if isinstance(thing, Block) else 0.1
        return thing


class Album(Mailbox[Frame]):
    def __init__(self) -> None:
        super().__init__()
        self.frames: list[Frame] = []

    def post(self, thing: Frame) -> None:
        self.frames.append(thing)


class Mute:
    """An output that takes all and sounds nothing."""

    beat_zero_s = None

    def order(self, order: DroneOrder) -> None: ...

    def play(self, order: LickOrder) -> None: ...


def hear(things: list[Arrival | None], pedal: Pedal | None = None, **options: Any) -> list[Frame]:
    script, album = Script(things), Album()
    an_engine(script, pedal or Pedal(PedalState()), album, **options).work(threading.Event())
    return album.frames


def an_engine(
    things: Script, pedal: Pedal, album: Album, *, edges: queue.Queue[SwitchEdge] | None = None, **options: Any
) -> Engine:
    return Engine(
        pedal, things, feet=Feet(ActionMap(2)), edges=edges or queue.Queue(9), frames=album,
        log_writer=LogWriter(None, None), tell=lambda _: None, clock=lambda: things.now_s, **options,
    )  # fmt: skip


RINGING = blocks_of(a_true_bend(lead_s=0.0)[: RATE // 2])
"""Cut in the middle of the bend."""


def test_unplugged_while_a_string_rings_the_panel_may_sleep() -> None:
    frames = hear([Began(FACTS), *RINGING, Gone("the audio input stopped: plug it in again"), *[None] * 20])
    assert any(frame.awake for frame in frames)
    assert not frames[-2].awake
    assert not frames[-1].awake


def test_a_foot_wakes_it_for_a_moment_while_there_is_no_input() -> None:
    edges: queue.Queue[SwitchEdge] = queue.Queue(9)
    for at_s, pressed in ((0.2, True), (0.3, False)):
        edges.put(SwitchEdge(at_s, 1, pressed))
    frames = hear([Began(FACTS), Gone("gone: plug it in"), *[None] * 30], edges=edges)
    assert sum(frame.awake for frame in frames) >= 1
    assert not frames[-1].awake


def test_the_drone_is_cleaned_out_again_after_the_input_was_opened_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """`expect` gives the filter a time to learn in: told before the gap was skipped, it would lie in the gap."""
    calls: list[str] = []

    class Filter:
        def __init__(self, rate: int) -> None: ...

        def expect(self, hz: tuple[float, ...]) -> None:
            calls.append("expect")

        def skip(self, lost: int) -> None:
            calls.append(f"skip {lost}")

        def clean(self, samples: np.ndarray) -> np.ndarray:
            return samples

    monkeypatch.setattr(pedal.live.ear, "DroneLeak", Filter)
    hear([Began(FACTS), *RINGING[:2], Gone("gone: plug it in"), Began(FACTS, 0.5)], output=Mute())
    assert calls[-2:] == [f"skip {RATE // 2}", "expect"]


class Listening(Pedal):
    """Notes before which looks at the string sound was missing; the first pluck is a fault of ours, if asked for."""

    def __init__(self, *, fails: bool = False) -> None:
        super().__init__(PedalState())
        self.after_hole: list[bool] = []
        self._fails = fails

    def step(self, event: InputEvent) -> Answer:
        if isinstance(event, LivePitch):
            self.after_hole.append(event.after_hole)
        if self._fails and isinstance(event, Onset):
            self._fails = False
            raise ValueError("a fault of ours")
        return super().step(event)


A_SECOND = Block(np.zeros(RATE, np.float32))


@pytest.mark.parametrize(
    ("things", "holes"),
    [
        ([A_SECOND, A_SECOND], [False, False]),
        ([A_SECOND, Block(A_SECOND.samples, lost_samples=1), A_SECOND], [False, True, False]),
        ([A_SECOND, Gone("gone: plug it in"), Began(FACTS, 0.3), A_SECOND, A_SECOND], [False, True, False]),
    ],
    ids=["behind, all at once", "blocks went", "opened anew"],
)
def test_a_hole_in_the_sound_is_told_once_and_being_behind_is_none(things: list[Arrival], holes: list[bool]) -> None:
    pedal_ = Listening()
    hear([Began(FACTS), *things], pedal=pedal_)
    assert pedal_.after_hole == holes


def test_what_a_fault_of_ours_swallowed_is_a_hole() -> None:
    pedal_ = Listening(fails=True)
    script = Script([Began(FACTS), A_SECOND, Block(a_true_bend()[:RATE]), A_SECOND, A_SECOND])
    engine = an_engine(script, pedal_, Album())
    with pytest.raises(ValueError, match="of ours"):
        engine.work(threading.Event())
    engine.work(threading.Event())
    assert pedal_.after_hole == [False, True, False]


def lamp_words(pedal_: Pedal, *commands: Command) -> set[str]:
    """What the lamp is told while C4 is bent to D4 on string 3, and it is true."""
    bend, quiet = blocks_of(a_true_bend()), [Block(np.zeros(BLOCK, np.float32))] * (RATE // BLOCK)
    script, album = Script([Began(FACTS), *bend, *quiet]), Album()
    an_engine(script, pedal_, album, script=commands).work(threading.Event())
    return {frame.verdict for frame in album.frames} - {""}


@pytest.mark.parametrize(
    ("mode", "words"),
    [("watch", {"true"}), ("recall", set()), ("tune", set()), ("echo", set()), ("round", set())],
    ids=["watch", "recall", "tune", "echo", "a Round that was not begun"],
)
def test_the_lamp_lights_for_what_is_judged_and_not_where_nothing_is_asked_for(mode: ModeName, words: set) -> None:
    assert lamp_words(Pedal(PedalState(mode=mode))) == words


def a_round_that_asks_for(string: int, fret: int, part: str) -> Pedal:
    pedal_ = Pedal(PedalState(mode="round"))
    pedal_.step(Command(0.0, "next_target"))
    for _ in range(60):
        asked = pedal_.asked
        if isinstance(asked, Item) and (asked.string, asked.fret, asked.part) == (string, fret, part):
            return pedal_
        pedal_.step(Command(0.0, "next_target"))
    raise AssertionError(f"{part} was never asked for")


@pytest.mark.parametrize(
    ("string", "fret", "part", "lit"),
    [(3, 5, "bend", True), (3, 3, "bend", False), (6, 3, "plain", False), (3, 5, "prebend", False)],
)
def test_in_a_round_the_lamp_lights_for_what_is_asked_for_alone(string: int, fret: int, part: str, lit: bool) -> None:
    """Beside OTHER, or a note that is told to be none, a long light praised it."""
    assert ("true" in lamp_words(a_round_that_asks_for(string, fret, part))) is lit


@pytest.mark.parametrize("actions", [("next_mode",), ("next_mode", "previous_mode"), ("menu",)])
def test_the_lamp_stays_dark_for_what_was_plucked_in_another_mode_or_sounds_under_the_menu(actions: tuple) -> None:
    assert not lamp_words(Pedal(PedalState()), *(Command(0.6, action) for action in actions))


SILENCE = [Block(np.zeros(BLOCK, np.float32)) for _ in range(RATE // BLOCK)]
"""A second of it."""


class Walking(Script):
    """Feet come while the script goes on: edges of (clock, switch, down)."""

    def __init__(self, things: list[Arrival | None], steps: list[tuple[float, int, bool]]) -> None:
        super().__init__(things)
        self.steps = steps
        self.edges: queue.Queue[SwitchEdge] = queue.Queue(9)

    def get(self, timeout_s: float) -> Arrival | None:
        thing = super().get(timeout_s)
        while self.steps and self.steps[0][0] <= self.now_s:
            self.edges.put(SwitchEdge(*self.steps.pop(0)))
        return thing


def walk(things: list[Arrival | None], *taps: tuple[float, int]) -> Pedal:
    """Taps of 0.12 s."""
    steps = sorted([(at_s, s, True) for at_s, s in taps] + [(at_s + 0.12, s, False) for at_s, s in taps])
    script, board = Walking(things, steps), Pedal(PedalState())
    an_engine(script, board, Album(), edges=script.edges).work(threading.Event())
    return board


def test_a_tap_after_a_stall_of_the_sound_is_answered() -> None:
    """The sound stands still for 0.8 s; a foot taps in it and after it. Its time is its own, not the sound's."""
    board = walk([Began(FACTS), *SILENCE, *[None] * 8, *SILENCE], (1.05, 1), (1.05, 2), (1.95, 1))
    screen = board.screen()
    assert isinstance(screen, MenuScreen)
    assert screen.index == 1


def test_a_tap_over_the_end_of_a_stall_is_no_long_press() -> None:
    """Where the sound catches up 0.8 s between down and up of a foot, the foot was down for 0.12 s as ever."""
    behind: list[Arrival | None] = [Began(FACTS), *SILENCE, *[None] * 8, *SILENCE[:50], Began(FACTS, 0.8), *SILENCE]
    at_s = 1.8 + 45 * BLOCK / RATE
    board = walk(behind, (at_s, 1), (at_s + 0.01, 2), (at_s + 0.5, 1))
    assert isinstance(board.screen(), MenuScreen)
    assert walk(behind, (at_s, 1)).settings.mode == PedalState().mode
