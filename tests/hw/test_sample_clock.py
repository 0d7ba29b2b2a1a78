"""How many samples an overflow cost, told from the clock, whatever the bursts of the driver."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hw.sample_clock import SampleClock

# Written out, and not taken from the code, so that a change of it is seen.
SUSPICIOUS_S = 0.02

RATE, BLOCK = 48_000, 128


def listen(
    clock: SampleClock, *, blocks: int, from_s: float = 0.0, late_s: float = 0.02, burst: int = 4, slow: float = 1.0
) -> float:
    """Blocks as a driver delivers them, `burst` at a time; when the last one was due. Nothing may be missing."""
    for index in range(blocks):
        due_s = from_s + (index // burst + 1) * burst * BLOCK / RATE * slow
        assert clock.missing(due_s + late_s, waiting=(burst - index % burst) * BLOCK) == 0
        clock.deliver(BLOCK)
    return from_s + blocks * BLOCK / RATE * slow


@pytest.mark.parametrize("lost_blocks", [10, 40, 400])
@pytest.mark.parametrize("burst", [1, 4])
def test_the_gap_is_known_to_a_burst(lost_blocks: int, burst: int) -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=1000, burst=burst)
    lost = clock.lose(now_s + lost_blocks * BLOCK / RATE + 0.02, waiting=0)
    assert lost == pytest.approx(lost_blocks * BLOCK, abs=burst * BLOCK)


def test_what_still_waits_in_the_driver_is_not_lost() -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=1000, burst=1)
    assert clock.lose(now_s + 1.0 + 0.02, waiting=4800) == pytest.approx(RATE - 4800, abs=BLOCK)
    assert SampleClock(RATE).lose(now_s, waiting=0) == 0


@pytest.mark.parametrize("late_s", [0.0, 0.5 * SUSPICIOUS_S, 0.9 * SUSPICIOUS_S])
def test_a_little_late_is_no_loss(late_s: float) -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=1000, burst=1, late_s=0.0)
    assert clock.missing(now_s + late_s, waiting=0) == 0


@pytest.mark.parametrize("slow", [0.99, 0.9998, 1.0002, 1.01])
def test_crystals_that_disagree_do_not_add_up_to_a_loss(slow: float) -> None:
    """200 ppm for a quarter of an hour is 0.2 s of samples, none of them lost; not even one in a hundred is."""
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=900 * RATE // BLOCK, burst=1, slow=slow)
    assert clock.lose(now_s + 0.02, waiting=0) == 0


def test_nothing_is_lost_while_a_stream_starts() -> None:
    clock = SampleClock(RATE)
    assert clock.missing(0.0, waiting=0) == 0
    assert clock.missing(0.4, waiting=0) == 0
    listen(clock, blocks=1000, from_s=0.4)


@given(st.floats(0, 1e6), st.integers(0, 10**6))
def test_a_first_look_tells_nothing(now_s: float, waiting: int) -> None:
    assert SampleClock(RATE).missing(now_s, waiting=waiting) == 0


def test_what_comes_late_after_all_is_counted_twice_once_and_not_again_at_each_of_a_storm() -> None:
    """A server keeps 0.4 s for a process that was frozen, and hands it over too late to be waited for: none is lost."""
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=2000, burst=1)
    lost = 0
    for _ in range(8):
        lost += clock.lose(now_s + 0.4 + 0.02, waiting=0)
        clock.deliver(round(0.4 * RATE))
        now_s = listen(clock, blocks=100, from_s=now_s + 0.4, burst=1)
    assert lost < 0.4 * RATE + 16 * BLOCK


def test_a_loss_long_ago_hides_no_new_one() -> None:
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=2000, burst=1)
    for lost_s in (0.3, 0.5):
        now_s += lost_s
        assert clock.lose(now_s + 0.02, waiting=0) == pytest.approx(lost_s * RATE, abs=4 * BLOCK)
        now_s = listen(clock, blocks=20_000, from_s=now_s, burst=1)


def test_what_falls_behind_bit_by_bit_within_half_a_second_is_missed() -> None:
    """The usual is that of the last half second, not of the last look: ten per cent too slow for 0.4 s are 40 ms."""
    clock = SampleClock(RATE)
    now_s = listen(clock, blocks=1000, burst=1)
    missed = [
        clock.missing(now_s + 0.02 + 0.004 * look, waiting=round(0.9 * 0.004 * look * RATE)) for look in range(100)
    ]
    assert max(missed[: round(SUSPICIOUS_S / 0.0004) - 5]) == 0
    assert missed[-1] == pytest.approx(0.04 * RATE, abs=3 * BLOCK)
