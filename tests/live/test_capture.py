"""The capturing thread: nothing is lost unsaid, and a lost device is opened again."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import numpy as np
import pytest

from pedal.errors import DeviceError
from pedal.live.capture import Began, Capture, Gone, Over
from pedal.ports import Block
from tests.live.doubles import BLOCK, DEADLINE_S, ScriptedSource

# Written out, and not taken from the code, so that a change of it is seen.
BACK_OFF_LEAST_S, BACK_OFF_MOST_S, QUEUE_BLOCKS = 0.1, 2.0, 768

GONE = DeviceError("the audio input stopped: plug it in again")


class CountedStop(threading.Event):
    """An event whose waits take no time and are kept; it sets itself after so many."""

    def __init__(self, waits: int) -> None:
        super().__init__()
        self.waited: list[float] = []
        self._most = waits

    def wait(self, timeout: float | None = None) -> bool:
        self.waited.append(timeout or 0.0)
        if len(self.waited) >= self._most:
            self.set()
        return self.is_set()


def silence(count: int) -> list[Block | Exception]:
    return [Block(np.full(BLOCK, index, np.float32)) for index in range(count)]


def arrivals(capture: Capture) -> Iterator[object]:
    while (arrival := capture.arrivals.get(0.0)) is not None:
        yield arrival


def test_when_hearing_falls_behind_what_is_dropped_is_told_to_the_next_block() -> None:
    source = ScriptedSource([*silence(QUEUE_BLOCKS + 9), GONE])
    capture = Capture(lambda: source)
    stop = CountedStop(1)
    begun = threading.Thread(target=capture.work, args=(stop,))
    begun.start()
    end_s = time.monotonic() + DEADLINE_S
    while not capture.arrivals._waiting:  # it drops, then wants to tell that the device is gone, and waits for room
        assert time.monotonic() < end_s
        time.sleep(0.001)
    came = list(arrivals(capture))
    begun.join(DEADLINE_S)
    came += list(arrivals(capture))
    blocks = [arrival for arrival in came if isinstance(arrival, Block)]
    assert isinstance(came[0], Began)
    assert isinstance(came[-1], Gone)
    assert len(blocks) == QUEUE_BLOCKS - 1
    assert capture.dropped_blocks == 10
    capture._put_or_drop(Block(np.zeros(BLOCK, np.float32), lost_samples=7))
    (late,) = arrivals(capture)
    assert isinstance(late, Block)
    assert late.lost_samples == 10 * BLOCK + 7


def test_every_sample_is_either_heard_or_counted_as_lost() -> None:
    total = 4 * QUEUE_BLOCKS
    capture = Capture(lambda: ScriptedSource([]))
    heard = lost = 0
    for index, block in enumerate(silence(total)):
        assert isinstance(block, Block)
        capture._put_or_drop(block)
        if index % 3 == 0:
            arrival = capture.arrivals.get(0.0)
            assert isinstance(arrival, Block)
            heard, lost = heard + len(arrival.samples), lost + arrival.lost_samples
    for arrival in arrivals(capture):
        assert isinstance(arrival, Block)
        heard, lost = heard + len(arrival.samples), lost + arrival.lost_samples
    assert heard + lost + capture._lost_samples == total * BLOCK
    assert lost > 0


def test_a_take_is_never_dropped() -> None:
    capture = Capture(lambda: ScriptedSource(silence(500), ends=True), live=False)
    stop = threading.Event()
    thread = threading.Thread(target=capture.work, args=(stop,))
    thread.start()
    came = []
    while not came or not isinstance(came[-1], Over):
        arrival = capture.arrivals.get(DEADLINE_S)
        assert arrival is not None
        came.append(arrival)
    thread.join(DEADLINE_S)
    assert len([arrival for arrival in came if isinstance(arrival, Block)]) == 500
    assert capture.dropped_blocks == 0


def test_no_device_at_the_start_ends_it() -> None:
    capture = Capture(lambda: ScriptedSource([], at_open=GONE))
    with pytest.raises(DeviceError, match="plug it in"):
        capture.work(threading.Event())


def test_a_lost_device_is_tried_with_growing_patience_and_a_fresh_source_each_time() -> None:
    made: list[ScriptedSource] = []

    def make() -> ScriptedSource:
        made.append(ScriptedSource([GONE], at_open=GONE if made else None))
        return made[-1]

    stop = CountedStop(8)
    capture = Capture(make)
    capture.work(stop)
    assert stop.waited[0] == BACK_OFF_LEAST_S
    assert all(late >= early for early, late in zip(stop.waited, stop.waited[1:], strict=False))
    assert stop.waited[-1] == BACK_OFF_MOST_S
    assert len(made) == 8
    assert all(source.closed.is_set() for source in made)
    assert capture.seeking


def test_it_says_how_long_there_was_no_sound() -> None:
    now = [0.0]
    sources = [ScriptedSource([*silence(1), GONE]), ScriptedSource([], at_open=GONE), ScriptedSource([], ends=True)]

    class Stop(CountedStop):
        def wait(self, timeout: float | None = None) -> bool:
            now[0] += 1.5
            return super().wait(timeout)

    capture = Capture(lambda: sources.pop(0), clock=lambda: now[0])
    capture.work(Stop(99))
    begun = [arrival for arrival in arrivals(capture) if isinstance(arrival, Began)]
    assert [began.missed_s for began in begun] == [0.0, 3.0]


def test_other_streams_let_the_library_go_before_it_is_started_anew() -> None:
    order: list[str] = []

    class Source(ScriptedSource):
        def open(self):  # type: ignore[no-untyped-def]
            order.append("open")
            return super().open()

    Capture(
        lambda: Source([], ends=True),
        before_open=lambda: order.append("let go"),
        after_open=lambda: order.append("come back"),
    ).work(threading.Event())
    assert order == ["let go", "open", "come back"]
