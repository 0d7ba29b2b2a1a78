"""The output's beats on the axis of the readings, however late samples are taken in."""

from __future__ import annotations

import pytest

from pedal.live.beat_finder import BeatFinder, Moved, delay_heard_ms
from pedal.theory.pulse import Pulse

PULSE = Pulse(120, ((196.0,),), 0.5, 3136.0)


class Stream:
    def __init__(self) -> None:
        self.now_s, self.zero_s = 100.0, 101.5
        self.finder = BeatFinder(lambda: self.zero_s, lambda: self.now_s)

    def take(self, heard_s: float, *, late_s: float = 0.0) -> None:
        """Samples up to `heard_s`, which is `now - 100`, taken in so much later than they came."""
        self.now_s = 100.0 + heard_s + late_s
        self.finder.heard(heard_s)


def test_the_least_late_of_the_last_seconds_counts() -> None:
    stream = Stream()
    for n, late_s in enumerate((0.03, 0.012, 0.001, 0.02, 0.04)):
        stream.take(0.1 * n, late_s=late_s)
    moved = stream.finder.moved(PULSE)
    assert moved is not None and moved.zero_s == pytest.approx(1.499) and moved.beat_s == 0.5


def test_what_stands_still_is_told_once_and_what_moves_again() -> None:
    stream = Stream()
    stream.take(0.0)
    assert stream.finder.moved(PULSE) is not None
    assert stream.finder.moved(PULSE) is None
    stream.zero_s += 0.001
    assert stream.finder.moved(PULSE) is None, "less than is told of an arrival"
    stream.zero_s += 0.005
    assert stream.finder.moved(PULSE) is not None
    assert stream.finder.moved(None) == Moved(None, 0.0), "the pulse is over"
    assert stream.finder.moved(None) is None


def test_an_old_shift_is_forgotten() -> None:
    """A stream that was opened anew lies elsewhere on the clock."""
    stream = Stream()
    stream.take(0.0)
    for n in range(1, 60):
        stream.take(0.1 * n, late_s=0.5)
    moved = stream.finder.moved(PULSE)
    assert moved is not None and moved.zero_s == pytest.approx(1.0)


def test_without_an_output_nothing_is_told() -> None:
    finder = BeatFinder(lambda: None, lambda: 0.0)
    finder.heard(1.0)
    assert finder.moved(PULSE) is None


@pytest.mark.parametrize(
    ("taken_off_ms", "late_s", "known", "heard_ms"),
    [
        (0.0, 0.034, False, 34.0),
        (34.0, -0.004, True, 30.0),
        (34.0, 0.0024, True, None),
        (34.0, 0.0026, True, 36.6),
        (34.0, 0.0, False, 34.0),
        (0.0, -0.05, False, -50.0),
        (0.0, -0.0501, False, None),
        (30.0, -0.389, True, None),
        (30.0, -0.389, False, None),
        (100.0, 0.4, False, 500.0),
        (100.0, 0.4001, False, None),
    ],
)
def test_a_delay_is_news_and_could_be_one(
    taken_off_ms: float, late_s: float, known: bool, heard_ms: float | None
) -> None:
    """-359 ms were heard once, at a sound server that was starved: no click comes before it was sent."""
    got = delay_heard_ms(taken_off_ms, late_s, known=known)
    assert (got is None) == (heard_ms is None)
    assert got is None or got == pytest.approx(heard_ms)
