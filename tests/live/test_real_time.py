"""Real time is asked for by the thread that hears, for itself alone, and done without where it is refused."""

from __future__ import annotations

import os
import threading

import pytest

from pedal.live import real_time
from pedal.live.worker import Worker


def run(worker: Worker) -> Worker:
    worker.start()
    worker.stop(20.0)
    return worker


def test_it_is_granted_to_the_thread_and_to_no_other() -> None:
    seen: list[tuple[int, int]] = []
    policy = os.SCHED_FIFO | os.SCHED_RESET_ON_FORK

    def look(_: threading.Event) -> None:
        seen.append((os.sched_getscheduler(0), os.sched_getparam(0).sched_priority))

    worker = run(Worker("hearing", look, priority=real_time.PRIORITY))
    if not worker.in_real_time:
        pytest.skip("this user may not ask for real time")
    assert seen == [(policy, real_time.PRIORITY)]
    assert os.sched_getscheduler(0) == os.SCHED_OTHER
    run(Worker("drawing", look))
    assert seen[1] == (os.SCHED_OTHER, 0)


def test_a_refusal_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "sched_setscheduler", refuse)
    done = threading.Event()
    worker = run(Worker("hearing", lambda _: done.set(), priority=real_time.PRIORITY))
    assert (worker.in_real_time, worker.fault, done.is_set()) == (False, None, True)


def test_nothing_is_asked_for_unasked() -> None:
    assert run(Worker("drawing", lambda _: None)).in_real_time is None


def test_the_sentences() -> None:
    assert real_time.told(granted=True) == "hearing in real time, priority 10"
    assert real_time.told(granted=False) == "hearing without real time: see `undertoe doctor`"
