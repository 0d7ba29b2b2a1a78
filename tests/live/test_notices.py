"""A notice never lies over a bend or its fresh verdict: it waits for a silence, and makes way for the string."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np

from pedal.live.arrivals import Arrivals
from pedal.live.capture import Arrival, Began, Over
from pedal.live.engine import Engine
from pedal.live.log_writer import SET_ASIDE, LogWriter
from pedal.live.messages import Frame
from pedal.live.worker import Mailbox
from pedal.log import open_store
from pedal.modes.action_map import ActionMap
from pedal.modes.feet import Feet
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.screen_model import MessageScreen
from pedal.ports import Block, StreamFacts
from tests.live.doubles import BLOCK, blocks_of
from tests.live.true_bend import RATE, a_true_bend

# Written out, and not taken from the code, so that a change of it is seen.
OPEN_AFTER_S = 2.0

BEND = a_true_bend(lead_s=0.0)
BEND_AT_S, TAKE_S = 3.0, 16.0
BEND_ENDS_S = BEND_AT_S + len(BEND) / RATE - 0.4


class Tape(Arrivals[Arrival]):
    """A bend in silence, and a clock that is what was taken of it; `at` is called as each second begins."""

    def __init__(self, at: Callable[[int], None]) -> None:
        super().__init__(1)
        sound = np.zeros(round(TAKE_S * RATE), np.float32)
        begin = round(BEND_AT_S * RATE)
        sound[begin : begin + len(BEND)] = BEND
        self._left: list[Arrival] = [Began(StreamFacts("tape", RATE, BLOCK, 1)), *blocks_of(sound), Over()]
        self._left.reverse()
        self._at, self._taken, self._told = at, 0, -1

    def now_s(self) -> float:
        return self._taken / RATE

    def get(self, timeout_s: float) -> Arrival | None:
        if int(self.now_s()) > self._told:
            self._told = int(self.now_s())
            self._at(self._told)
        arrival = self._left.pop()
        self._taken += len(arrival.samples) if isinstance(arrival, Block) else 0
        return arrival


class Album(Mailbox[Frame]):
    """Every frame with its time."""

    def __init__(self, now_s: Callable[[], float]) -> None:
        super().__init__()
        self._now_s = now_s
        self.frames: list[tuple[float, Frame]] = []

    def post(self, thing: Frame) -> None:
        self.frames.append((self._now_s(), thing))


def shown(noticed_at_s: int) -> list[tuple[float, float]]:
    """From when to when a notice of that second stood on the screen, while a bend is played from 3 s on."""
    hearings: list[Engine] = []
    tape = Tape(lambda second: hearings[0].notice("LOG", SET_ASIDE) if second == noticed_at_s else None)
    album = Album(tape.now_s)
    hearings.append(
        Engine(
            Pedal(PedalState()),
            tape,
            feet=Feet(ActionMap(0)),
            edges=queue.Queue(1),
            frames=album,
            log_writer=LogWriter(None, None),
            tell=lambda _: None,
            clock=tape.now_s,
        )
    )
    hearings[0].work(threading.Event())
    times = [time_s for time_s, _ in album.frames[1:]] + [TAKE_S]
    return [
        (begin_s, end_s)
        for (begin_s, frame), end_s in zip(album.frames, times, strict=True)
        if isinstance(frame.model, MessageScreen)
    ]


def test_in_a_silence_it_comes_at_once_and_stays_five_seconds() -> None:
    ((begin_s, end_s),) = shown(10)
    assert 10.0 <= begin_s < 10.1
    assert 4.9 < end_s - begin_s < 5.1


def test_over_a_bend_it_waits_until_the_verdict_was_read() -> None:
    ((begin_s, _),) = shown(4)
    assert BEND_ENDS_S + 2.5 < begin_s < BEND_ENDS_S + 4.0


def test_a_string_that_sounds_again_ends_it() -> None:
    ((begin_s, end_s),) = shown(0)
    assert begin_s < 0.1
    assert BEND_AT_S < end_s < BEND_AT_S + 0.1


def test_a_damaged_log_is_found_before_the_first_bend_and_said_in_short(tmp_path: Path) -> None:
    log, now_s = tmp_path / "log.sqlite", [0.0]
    log.write_bytes(b"not a database" * 100)
    log_writer = LogWriter(lambda: open_store(log), None, clock=lambda: now_s[0])
    log_writer._write()
    assert not log_writer.notices  # not in the way of the start
    now_s[0] = OPEN_AFTER_S
    log_writer._write()
    assert log_writer.notices == [SET_ASIDE]
    assert "log.damaged-1.sqlite" in log_writer.remarks[0]
    stop = threading.Event()
    stop.set()
    log_writer.work(stop)
