"""What the order by need learns of earlier days: oldest first, always before now."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench.large_log import make
from pedal.live.past import entries_before
from pedal.log import StoreReader, open_store
from pedal.modes.log_entry import LogEntry

# Written out, and not taken from the code, so that a change of it is seen.
MOST_SESSIONS = 20

NOW_S = 1_800_000_000.0


def session(log: Path, begun_wall_s: float, *times_s: float) -> None:
    store = open_store(log, wall=lambda: begun_wall_s, monotonic=lambda: 0.0)
    store.append([LogEntry(time_s, "ladder", "G minor pentatonic", None, skipped=True) for time_s in times_s])
    store.close()


def test_no_log_is_no_past(tmp_path: Path) -> None:
    assert entries_before(tmp_path / "none.sqlite", now_wall_s=NOW_S) == []


def test_earlier_days_lie_as_far_back_as_they_were(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    session(log, NOW_S - 7200, 1.0, 61.0)
    session(log, NOW_S - 3600, 5.0)
    assert [entry.time_s for entry in entries_before(log, now_wall_s=NOW_S)] == pytest.approx([-7200, -7140, -3600])


@pytest.mark.parametrize("clock_s", [0.0, NOW_S + 1e6], ids=["never set", "ahead of now"])
def test_a_clock_that_cannot_be_right_does_not_bring_the_past_into_the_future(tmp_path: Path, clock_s: float) -> None:
    log = tmp_path / "log.sqlite"
    session(log, clock_s, 1.0, 2.0)
    session(log, NOW_S - 3600, 5.0)
    past = [entry.time_s for entry in entries_before(log, now_wall_s=NOW_S)]
    assert past == sorted(past)
    assert len(past) == 3
    assert past[-1] < 0


def test_only_the_newest_sessions_are_read(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    for number in range(MOST_SESSIONS + 5):
        session(log, NOW_S - 86_400 * (MOST_SESSIONS + 5 - number), float(number))
    past = entries_before(log, now_wall_s=NOW_S)
    assert len(past) == MOST_SESSIONS


def test_a_log_of_years_is_not_read_for_the_newest_sessions(tmp_path: Path) -> None:
    """SQLite's own steps are counted: a few in a hundred of what all sessions take."""
    make(tmp_path / "log.sqlite", sessions=400, notes=20)
    steps = {}
    for newest in (-1, MOST_SESSIONS):
        with StoreReader(tmp_path / "log.sqlite") as reader:
            count = [0]

            def step(count: list[int] = count) -> int:
                count[0] += 1
                return 0

            reader._connection.set_progress_handler(step, 100)
            assert len(reader.sessions(newest=newest)) == (400 if newest < 0 else newest)
            steps[newest] = count[0]
    assert steps[MOST_SESSIONS] < 0.08 * steps[-1]


def test_the_past_asks_for_no_more_than_the_newest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = tmp_path / "log.sqlite"
    for number in range(3):
        session(log, NOW_S - 86_400 * (3 - number), 1.0)
    asked = []
    sessions = StoreReader.sessions
    monkeypatch.setattr(StoreReader, "sessions", lambda self, **how: asked.append(how) or sessions(self, **how))
    entries_before(log, now_wall_s=NOW_S)
    assert asked == [{"newest": MOST_SESSIONS}]
