"""The hand-over: nothing is lost or turned round, and the bell rings for what does not bear waiting."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.live.arrivals import Arrivals
from pedal.live.capture import Arrival, Gone, joined
from pedal.ports import Block

LONG_S = 20.0


def rested_s(arrivals: Arrivals[int], timeout_s: float) -> float:
    begun_s = time.monotonic()
    arrivals.rest(timeout_s)
    return time.monotonic() - begun_s


def test_all_that_is_there_comes_at_once_and_in_order() -> None:
    arrivals: Arrivals[int] = Arrivals(8)
    assert [arrivals.offer(thing) for thing in range(10)] == [True] * 8 + [False] * 2
    assert arrivals.all_now() == list(range(8))
    assert arrivals.all_now() == []


def test_a_rest_lasts_its_time_where_nothing_rings() -> None:
    assert rested_s(Arrivals(8), 0.02) >= 0.02
    assert max(rested_s(Arrivals(8), timeout_s) for timeout_s in (-1.0, -0.01, 0.0)) < LONG_S


def test_a_ring_ends_the_rest_even_one_before_it() -> None:
    arrivals: Arrivals[int] = Arrivals(8)
    arrivals.ring()
    arrivals.ring()
    assert rested_s(arrivals, LONG_S) < LONG_S / 2
    threading.Timer(0.01, arrivals.ring).start()
    assert rested_s(arrivals, LONG_S) < LONG_S / 2
    assert rested_s(arrivals, 0.02) >= 0.02


def test_it_rings_by_itself_before_it_is_full() -> None:
    arrivals: Arrivals[int] = Arrivals(8)
    for thing in range(2):
        arrivals.offer(thing)
    assert arrivals._bell.empty()
    for thing in range(6):  # whoever slept through the first ring hears the next
        arrivals.offer(thing)
        assert rested_s(arrivals, LONG_S) < LONG_S / 2


def test_who_waits_for_room_goes_on_as_soon_as_there_is_some(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pedal.live.arrivals._STOP_CHECK_S", 10 * LONG_S)
    arrivals: Arrivals[int] = Arrivals(2)
    taken: list[int | None] = []
    putter = threading.Thread(target=lambda: [arrivals.put(thing, threading.Event()) for thing in range(6)])
    putter.start()
    while len(taken) < 6:
        until_s = time.monotonic() + LONG_S
        while arrivals._things.qsize() < min(2, 6 - len(taken)) or (len(taken) < 4 and not arrivals._waiting):
            assert time.monotonic() < until_s, "whoever waits was not told of the room"
            time.sleep(0.001)
        taken.append(arrivals.get(0.0))
    putter.join(LONG_S)
    assert taken == list(range(6))


ARRIVAL = st.one_of(
    st.builds(lambda n, lost: Block(np.full(n, n, np.float32), lost), st.integers(1, 9), st.sampled_from([0, 0, 0, 5])),
    st.just(Gone("no sound")),
)


@given(st.lists(ARRIVAL, max_size=20))
def test_blocks_put_together_hold_the_same_sound_and_losses_at_the_same_places(arrivals: list[Arrival]) -> None:
    def spelled(things: list[Arrival]) -> list[object]:
        words: list[object] = []
        for thing in things:
            if isinstance(thing, Block):
                words += [("lost", thing.lost_samples)] * bool(thing.lost_samples) + thing.samples.tolist()
            else:
                words.append(thing)
        return words

    together = joined(arrivals)
    assert spelled(together) == spelled(arrivals)
    pairs = zip(together, together[1:], strict=False)
    assert not any(isinstance(a, Block) and isinstance(b, Block) and not b.lost_samples for a, b in pairs)


@pytest.mark.parametrize("count", [0, 1])
def test_what_stands_alone_stays_what_it_is(count: int) -> None:
    blocks: list[Arrival] = [Block(np.ones(4, np.float32))] * count
    assert joined(blocks) == blocks
