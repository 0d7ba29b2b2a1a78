"""A worker on a clock of the test's own: when it begins again, how long it waits, and what ends it."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from pedal.errors import DeviceError
from pedal.live.worker import Worker
from tests.live.doubles import DEADLINE_S

# Written out, and not taken from the code, so that a change of it is seen.
BACK_OFF_LEAST_S, BACK_OFF_MOST_S, MOST_FAULTS, WITHIN_S = 0.1, 2.0, 10, 60.0


class Hours:
    """A clock that the work moves."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


class Pauses(threading.Event):
    """A stop event that never waits, and remembers how long it should have."""

    def __init__(self, hours: Hours) -> None:
        super().__init__()
        self.hours, self.waited = hours, []

    def wait(self, timeout: float | None = None) -> bool:
        self.waited.append(timeout)
        self.hours.now_s += timeout or 0.0
        return self.is_set()


def run(work: Callable[[threading.Event], None], hours: Hours, **options: object) -> tuple[Worker, Pauses]:
    """The worker after its end."""
    worker, pauses = Worker("test", work, clock=hours, **options), Pauses(hours)  # type: ignore[arg-type]
    worker._stop = pauses
    worker.start()
    worker._thread.join(DEADLINE_S)
    assert worker.ended
    return worker, pauses


def failing(times: int, hours: Hours, *, every_s: float = 0.0) -> Callable[[threading.Event], None]:
    left = [times]

    def work(_: threading.Event) -> None:
        hours.now_s += every_s
        if left[0]:
            left[0] -= 1
            raise ZeroDivisionError(f"{left[0]} more")

    return work


def test_it_begins_again_after_each_fault_and_waits_longer_each_time() -> None:
    hours = Hours()
    worker, pauses = run(failing(6, hours), hours)
    assert worker.fault is None
    assert worker.faults.qsize() == 6
    assert pauses.waited == [BACK_OFF_LEAST_S * 2**n for n in range(5)] + [BACK_OFF_MOST_S]


def test_its_longest_wait_can_be_shorter() -> None:
    hours = Hours()
    _, pauses = run(failing(4, hours), hours, back_off_most_s=0.25)
    assert pauses.waited == [0.1, 0.2, 0.25, 0.25]


@pytest.mark.parametrize(("faults", "dies"), [(MOST_FAULTS - 1, False), (MOST_FAULTS, True), (MOST_FAULTS + 5, True)])
def test_ten_faults_in_a_minute_are_its_end(faults: int, dies: bool) -> None:
    hours = Hours()
    worker, _ = run(failing(faults, hours), hours)
    assert (worker.fault is not None) is dies
    assert worker.faults.qsize() == min(faults, MOST_FAULTS)


def test_any_number_of_faults_is_borne_if_they_come_seldom() -> None:
    hours = Hours()
    worker, pauses = run(failing(200, hours, every_s=WITHIN_S / (MOST_FAULTS - 1)), hours)
    assert worker.fault is None
    assert max(pauses.waited) == BACK_OFF_MOST_S


def test_after_a_minute_without_a_fault_it_begins_again_at_once() -> None:
    hours = Hours()
    _, pauses = run(failing(5, hours, every_s=WITHIN_S), hours)
    assert pauses.waited == [BACK_OFF_LEAST_S] * 5


@pytest.mark.parametrize("fault", [DeviceError("no input: plug it in"), BrokenPipeError()])
def test_a_sentence_for_the_player_and_a_reader_who_left_end_it_at_once(fault: Exception) -> None:
    tries = []

    def work(_: threading.Event) -> None:
        tries.append(1)
        raise fault

    worker, _ = run(work, Hours())
    assert (worker.fault, len(tries), worker.faults.qsize()) == (fault, 1, 0)


def test_work_that_cannot_go_on_is_not_begun_again() -> None:
    hours = Hours()
    worker, _ = run(failing(1, hours), hours, restarts=False)
    assert isinstance(worker.fault, ZeroDivisionError)


@pytest.mark.parametrize(("faults", "tries"), [(1, 2), (3, 4), (20, 10)])
def test_while_it_is_stopped_it_is_tried_again_and_its_fault_is_not_forgotten(faults: int, tries: int) -> None:
    """The rest is kept by a later try, and whoever asks still learns that not all went well."""
    history = []

    def work(stop: threading.Event) -> None:
        stop.set()
        history.append(1)
        if len(history) <= faults:
            raise ZeroDivisionError("at the end")

    worker, _ = run(work, Hours())
    assert len(history) == tries
    assert isinstance(worker.fault, ZeroDivisionError)
