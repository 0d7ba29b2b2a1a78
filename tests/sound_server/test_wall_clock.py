"""A board without a clock of its own wakes up in another year, and jumps when it is told better: the real command.

A small library in front of libc's moves the wall clock of the pedal's process alone; the steady one goes on.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.sound_server.pedal_process import DEADLINE_S, PedalProcess, told_true
from tests.sound_server.server import SoundServer

pytestmark = [
    pytest.mark.sound_server,
    pytest.mark.skipif(shutil.which("cc") is None, reason="no C compiler to move the clock with"),
]
WORDS = ("--input", "guitar_in", "--headless", "--json")
YEAR_S = 31_557_600
MOVED = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/time.h>
#include <time.h>

static long long moved_s(void) {
    long long seconds = 0;
    FILE *file = fopen(getenv("MOVED_CLOCK"), "r");
    if (file) {
        if (fscanf(file, "%lld", &seconds) != 1) seconds = 0;
        fclose(file);
    }
    return seconds;
}

int clock_gettime(clockid_t which, struct timespec *now) {
    static int (*real)(clockid_t, struct timespec *);
    if (!real) real = dlsym(RTLD_NEXT, "clock_gettime");
    int answer = real(which, now);
    if (which == CLOCK_REALTIME) now->tv_sec += moved_s();
    return answer;
}

time_t time(time_t *now) {
    struct timespec moved;
    clock_gettime(CLOCK_REALTIME, &moved);
    if (now) *now = moved.tv_sec;
    return moved.tv_sec;
}

int gettimeofday(struct timeval *restrict now, void *restrict zone) {
    struct timespec moved;
    clock_gettime(CLOCK_REALTIME, &moved);
    now->tv_sec = moved.tv_sec;
    now->tv_usec = moved.tv_nsec / 1000;
    return 0;
}
"""


class MovedClock:
    """The wall clock of whatever is started in `environment`."""

    def __init__(self, folder: Path) -> None:
        source, library, self._file = folder / "moved.c", folder / "moved.so", folder / "seconds"
        source.write_text(MOVED)
        self.jump(0)
        subprocess.run(["cc", "-shared", "-fPIC", "-o", str(library), str(source), "-ldl"], check=True)
        self.environment = {"LD_PRELOAD": str(library), "MOVED_CLOCK": str(self._file)}

    def jump(self, years: int) -> None:
        """So many years from the true time, at once."""
        aside = self._file.with_suffix(".new")
        aside.write_text(str(years * YEAR_S))
        aside.replace(self._file)


@pytest.fixture
def clock(tmp_path: Path) -> MovedClock:
    moved = MovedClock(tmp_path)
    moved.jump(-20)
    year = "import time; print(time.gmtime().tm_year)"
    told = subprocess.run(
        [sys.executable, "-c", year], env={**os.environ, **moved.environment}, capture_output=True, check=True
    )
    now = subprocess.run([sys.executable, "-c", year], capture_output=True, check=True)
    assert int(now.stdout) - int(told.stdout) in (20, 21), "the clock cannot be moved here"
    moved.jump(0)
    return moved


def review(environment: Mapping[str, str], state: Path) -> str:
    words = [sys.executable, "-m", "pedal.cli.entry", "review"]
    own = {**environment, "XDG_STATE_HOME": str(state), "XDG_CONFIG_HOME": str(state)}
    done = subprocess.run(words, check=False, env=own, capture_output=True, text=True, timeout=DEADLINE_S)
    assert done.returncode == 0, done.stderr
    return done.stdout


def logged(lines: list[dict[str, Any]]) -> list[str]:
    """The verdicts of lines that the log keeps: a level note, as which a torn bend may be heard, is only shown."""
    return [line["verdict"] for line in lines if line["kind"] != "steady"]


def test_a_clock_that_jumps_years_either_way_changes_no_verdict_and_loses_none(
    server: SoundServer, bend: Path, state: Path, clock: MovedClock
) -> None:
    environment = {**server.environment, **clock.environment}
    begun_s = time.monotonic()
    with PedalProcess(environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        for years in (0, -30, 12):
            clock.jump(years)
            told_true(pedal, lambda: server.plays_whole(bend))
        assert pedal.stop()[0] == 0
    lasted_s = time.monotonic() - begun_s
    told_before = [(1, verdict) for verdict in logged(pedal.lines)]
    clock.jump(-30)  # the power was away, and so is the year
    with PedalProcess(environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        told_true(pedal, lambda: server.plays_whole(bend))
        assert pedal.stop()[0] == 0
    told_after = [(2, verdict) for verdict in logged(pedal.lines)]
    tries = sum(word != "unclear" for _, word in told_before + told_after)
    log = sqlite3.connect(state / "undertoe" / "log.sqlite")
    sessions = log.execute("SELECT begun_wall_s, wall_shift_s, wall_doubtful FROM session ORDER BY counter").fetchall()
    entries = log.execute("SELECT session_counter, time_s, verdict FROM log ORDER BY session, number").fetchall()
    log.close()
    (first_s, shifted_s, first_doubtful), (second_s, _, second_doubtful) = sessions
    assert first_s == pytest.approx(time.time(), abs=600)
    assert shifted_s == pytest.approx(12 * YEAR_S, abs=600)
    assert second_s == pytest.approx(time.time() - 30 * YEAR_S, abs=600)
    assert (first_doubtful, second_doubtful) == (1, 1)
    assert [(session, verdict) for session, _, verdict in entries] == told_before + told_after
    times = [time_s for session, time_s, _ in entries if session == 1]
    assert times == sorted(times)
    assert times[-1] < lasted_s  # of the session's own time, which no clock moves
    told = review(server.environment, state)
    assert f"so far there are {tries}" in told, told
    assert "? the clock was not to be trusted" in told, told
