"""An input that is lost and comes back, as the hearing sees it: the panel may sleep, the drone is cleaned out again."""

from __future__ import annotations

import queue
import threading

import numpy as np
import pytest

import pedal.live.ear
from pedal.live.arrivals import Arrivals
from pedal.live.capture import Arrival, Began, Gone, Over
from pedal.live.engine import Engine
from pedal.live.log_writer import LogWriter
from pedal.live.mailbox import Mailbox
from pedal.live.messages import Frame, SwitchEdge
from pedal.modes.action_map import ActionMap
from pedal.modes.feet import Feet
from pedal.modes.pedal import Pedal, PedalState
from pedal.ports import Block, StreamFacts
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


def hear(things: list[Arrival | None], **options: object) -> list[Frame]:
    script, album = Script(things), Album()
    edges: queue.Queue[SwitchEdge] = options.pop("edges", queue.Queue(9))  # type: ignore[assignment]
    engine = Engine(
        Pedal(PedalState()), script, feet=Feet(ActionMap(2)), edges=edges, frames=album,
        log_writer=LogWriter(None, None), tell=lambda _: None, clock=lambda: script.now_s, **options,
    )  # fmt: skip
    engine.work(threading.Event())
    return album.frames


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

    monkeypatch.setattr(pedal.live.ear, "LeakFilter", Filter)
    hear([Began(FACTS), *RINGING[:2], Gone("gone: plug it in"), Began(FACTS, 0.5)], sound=lambda _: None)
    assert calls[-2:] == [f"skip {RATE // 2}", "expect"]
