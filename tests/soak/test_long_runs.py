"""Days of a pedal: what it holds on to, and whether it still judges at the end. Run by `make soak`.

UNDERTOE_SOAK_HOURS sets the hours of sound for every one of these.
"""

from __future__ import annotations

import itertools
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.live.true_bend import a_true_bend
from tests.soak.long_day import RATE, Day, Samples, hours, live_through, varied

pytestmark = [pytest.mark.soak, pytest.mark.timeout(0)]
MOST_GROWTH_KB, MOST_BLOCKS = 3_000, 30_000
"""What a day may add; a curve kept for each of its notes would be 500 MB."""


def flat(day: Day) -> None:
    print("\n" + day.told())
    quarter = day.looks[len(day.looks) // 4]
    assert day.growth_kb() < MOST_GROWTH_KB, day.told()
    assert day.looks[-1].python_blocks - quarter.python_blocks < MOST_BLOCKS, day.told()
    assert all("listening" in remark for remark in day.remarks), day.remarks


def test_a_day_of_playing(tmp_path: Path) -> None:
    day = live_through(varied(), 3600 * hours(24), tmp_path)
    flat(day)
    log = sqlite3.connect(tmp_path / "log.sqlite")
    assert log.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert log.execute("SELECT count(*) FROM log").fetchone()[0] == day.entries > 0
    log.close()


def then_a_bend(sound: Iterator[Samples], seconds: float) -> Iterator[Samples]:
    yield from itertools.islice(sound, round(seconds))
    yield np.zeros(RATE, np.float32)
    yield a_true_bend()
    yield from itertools.repeat(np.zeros(RATE, np.float32))


def quiet() -> Iterator[Samples]:
    """A second each: digital nothing, or the hiss of a converter."""
    rng = np.random.default_rng(2)
    for second in itertools.count():
        hiss = 10 ** (-85 / 20) * rng.standard_normal(RATE, np.float32)
        yield hiss if second % 600 < 300 else np.zeros(RATE, np.float32)


def full_scale() -> Iterator[Samples]:
    """A second each: white noise from rail to rail, or a square wave of noise."""
    rng = np.random.default_rng(3)
    for second in itertools.count():
        noise = rng.uniform(-1, 1, RATE).astype(np.float32)
        yield noise if second % 20 < 10 else np.sign(noise)


@pytest.mark.parametrize(("sound", "usual_hours"), [(quiet, 48), (full_scale, 6)], ids=["silence", "noise"])
def test_days_of_nothing_and_then_a_bend(sound, usual_hours: float, tmp_path: Path) -> None:
    seconds = 3600 * hours(usual_hours)
    day = live_through(then_a_bend(sound(), seconds), seconds + 6, tmp_path, feet=False)
    flat(day)
    log = sqlite3.connect(tmp_path / "log.sqlite")
    kept = log.execute("SELECT kind, verdict FROM log").fetchall()
    log.close()
    assert kept[-1] == ("bend", "true")
    assert len(kept) == day.verdicts == 1 if sound is quiet else len(kept) <= day.verdicts
