"""A cable run on ports made of Python: what is played comes back after a known time, by a clock that the test holds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from pedal.doctor import cable as doctor_cable
from pedal.errors import DeviceError
from pedal.live.set_up.cable_run import run_cable
from pedal.ports import Block, StreamFacts
from pedal.soundcheck.cable_words import CableRun

RATE, BLOCK, OUT = 48_000, 128, 1024


class Cable:
    """Source and sink of one device with a cable: `delay` samples from the request of a sample to its reading."""

    def __init__(
        self, *, delay: int = 3000, gain: float = 0.5, lose: dict[int, int] | None = None, out_rate: int = RATE
    ):
        self.now = 0  # samples
        self._delay, self._gain, self._lose, self._out_rate = delay, gain, lose or {}, out_rate
        self._wire = np.zeros(0, np.float32)
        self._render = None
        self._read = self._asked = 0
        self.closed: list[str] = []

    def clock(self) -> float:
        return self.now / RATE

    class _Source:
        def __init__(self, cable: Cable) -> None:
            self._cable = cable

        def open(self) -> StreamFacts:
            return StreamFacts("input", RATE, BLOCK, 1)

        def read(self) -> Block | None:
            return self._cable._next()

        def close(self) -> None:
            self._cable.closed.append("input")

    class _Sink:
        def __init__(self, cable: Cable) -> None:
            self._cable = cable

        def open(self, render) -> StreamFacts:
            self._cable._render = render
            return StreamFacts("output", self._cable._out_rate, OUT, 1)

        def close(self) -> None:
            self._cable.closed.append("output")

    def ends(self):
        return self._Source(self), self._Sink(self)

    def _next(self) -> Block:
        lost = self._lose.pop(self._read // BLOCK, 0)
        self._read += lost
        self.now = self._read + BLOCK
        while self._asked + OUT <= self.now:  # in its own time, a block at once
            now, self.now = self.now, self._asked + OUT
            self._wire = np.concatenate([self._wire, self._render(OUT)])
            self.now = now
            self._asked += OUT
        # The sample asked for at time t of the output (its block's) is here `delay` samples later.
        at = self._read + BLOCK - self._delay + np.arange(-BLOCK, 0)
        there = (at >= 0) & (at < len(self._wire))
        heard = np.zeros(BLOCK)
        heard[there] = self._wire[at[there]]
        self._read += BLOCK
        return Block((self._gain * heard).astype(np.float32), lost, 1 if lost else 0)


def test_delay_level_and_quiet_come_back() -> None:
    device = Cable(delay=3000)
    run = run_cable(*device.ends(), clock=device.clock)
    assert run is not None
    # The wire holds sample n at place n, and block k is asked for when the time is (k + 1) blocks: so much sooner.
    assert run.delay_s * RATE == pytest.approx(3000 - OUT, abs=1)
    assert run.figures.gain_db == pytest.approx(-6.02, abs=0.01)
    assert run.holds
    assert device.closed == ["output", "input"]


def test_what_the_source_says_it_lost_keeps_the_time_and_is_counted() -> None:
    device = Cable(lose={2500: 384})
    run = run_cable(*device.ends(), clock=device.clock)
    assert (run.told_lost_samples, run.figures.lost_samples, run.holds) == (384, 0, False)


def test_no_cable_is_a_sentence_with_a_remedy() -> None:
    device = Cable(gain=0.0)
    with pytest.raises(DeviceError, match="does not come back from output to input: put a cable"):
        run_cable(*device.ends(), clock=device.clock)
    assert device.closed == ["output", "input"]


def test_two_rates_are_refused() -> None:
    device = Cable(out_rate=44_100)
    with pytest.raises(
        DeviceError, match=r"output plays at 44100 Hz and input listens at 48000 Hz: set audio\.rate_hz"
    ):
        run_cable(*device.ends(), clock=device.clock)


def test_it_can_be_stopped() -> None:
    device, asked = Cable(), iter([False] * 20 + [True] * 10)
    assert run_cable(*device.ends(), stopped=lambda: next(asked), clock=device.clock) is None


def runs(*lost: int) -> Iterator[CableRun]:
    device = Cable()
    good = run_cable(*device.ends(), clock=device.clock)
    for number, samples in enumerate(lost):
        yield CableRun(good.figures, samples, 0.03, 15.1, RATE, 128 << number)


@pytest.mark.parametrize(
    ("lost", "fact", "remedy"),
    [
        ((0,), "128 samples hold for 15 s", ""),
        ((128, 0), "256 samples hold for 15 s", "set audio.block_samples to 256"),
        ((128, 256, 0), "512 samples hold for 15 s", "set audio.block_samples to 512"),
        ((128, 256, 512), "even 512 samples do not hold", "another USB socket"),
    ],
)
def test_the_first_block_size_that_holds_is_named(lost, fact, remedy) -> None:
    answers = runs(*lost)
    found = list(doctor_cable.findings(lambda _: next(answers), 128))
    last = [finding for finding in found if finding.part == "block size"][-1]
    assert last.fact == fact
    assert last.remedy.startswith(remedy)
