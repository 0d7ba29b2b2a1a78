"""How many samples an overflow cost, told from the clock, whatever the bursts of the driver."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hw.sample_clock import SampleClock

RATE, BLOCK = 48_000, 128


def listen(clock: SampleClock, *, blocks: int, from_s: float = 0.0, late_s: float = 0.02, burst: int = 4) -> float:
    """Blocks as a driver delivers them, `burst` at a time; when the last one was due."""
    for index in range(blocks):
        due_s = from_s + (index // burst + 1) * burst * BLOCK / RATE
        clock.deliver(due_s + late_s, BLOCK)
    return from_s + blocks * BLOCK / RATE


@pytest.mark.parametrize("lost_blocks", [3, 40, 400])
@pytest.mark.parametrize("burst", [1, 4])
def test_the_gap_is_known_to_a_burst(lost_blocks: int, burst: int) -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=1000, burst=burst)
    noticed_s = now_s + lost_blocks * BLOCK / RATE + 0.02
    lost = clock.lose(noticed_s, still_waiting=0, at_least=BLOCK)
    assert lost == pytest.approx(lost_blocks * BLOCK, abs=burst * BLOCK)


def test_what_still_waits_in_the_driver_is_not_lost() -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=1000, burst=1)
    assert clock.lose(now_s + 1.0 + 0.02, still_waiting=4800, at_least=BLOCK) == pytest.approx(RATE - 4800, abs=BLOCK)


def test_crystals_that_disagree_do_not_add_up_to_a_loss() -> None:
    """200 ppm for two hours is 1.4 s of samples, none of them lost."""
    clock, drift = SampleClock(RATE), 1.0002
    for second in range(7200):
        clock.deliver(second * drift, RATE)
    assert clock.lose(7200 * drift, still_waiting=RATE, at_least=BLOCK) < 0.01 * RATE


@given(st.floats(0, 1e6), st.integers(0, 10**6), st.integers(1, 4096))
def test_never_less_than_the_block_that_the_overflow_took(now_s: float, waiting: int, block: int) -> None:
    assert SampleClock(RATE).lose(now_s, still_waiting=waiting, at_least=block) >= block


def test_what_comes_late_after_an_overflow_is_counted_twice_once_and_not_again_at_each_of_a_storm() -> None:
    """A server keeps 0.4 s for a process that was frozen, and hands it over at once when it goes on: none is lost."""
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=2000, burst=1)
    lost = 0
    for _ in range(8):
        lost += clock.lose(now_s + 0.4 + 0.02, still_waiting=0, at_least=BLOCK)
        clock.deliver(now_s + 0.4 + 0.021, round(0.4 * RATE))
        now_s = listen(clock, blocks=100, from_s=now_s + 0.4, burst=1)
    assert lost < 0.4 * RATE + 16 * BLOCK


def test_a_loss_long_ago_hides_no_new_one() -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=2000, burst=1)
    for lost_s in (0.3, 0.5):
        now_s += lost_s
        assert clock.lose(now_s + 0.02, still_waiting=0, at_least=BLOCK) == pytest.approx(lost_s * RATE, abs=4 * BLOCK)
        now_s = listen(clock, blocks=20_000, from_s=now_s, burst=1)
