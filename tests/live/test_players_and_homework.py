"""Players and homework over the disk: each player's session, what is read back of it, and a file that is broken."""

from __future__ import annotations

import os
import time
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from pedal.live.memory_file import FILE_NAME, MemoryFile
from pedal.live.past import counts_from_s, entries_before
from pedal.live.printer import Printer
from pedal.live.remarks import Remarks
from pedal.live.session import LiveSession, Wanted
from pedal.log import StoreReader, open_store
from pedal.modes.log_entry import LogEntry
from pedal.settings.load import load
from tests.log.conftest import BENT
from tests.progress.invented_month import CLEAN, Habit, entries


@pytest.fixture(autouse=True)
def own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    folder = tmp_path / ".config" / "undertoe"
    folder.mkdir(parents=True)
    return folder


def test_each_player_has_a_session_and_the_past_says_whose_it_is(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    store = open_store(log)
    skipped = LogEntry(1.0, "ladder", "G minor pentatonic", None, skipped=True)
    store.append([replace(skipped, player=name, time_s=at) for at, name in ((1.0, "Ann"), (2.0, "Ben"), (3.0, "Ann"))])
    store.append([replace(skipped, time_s=4.0)])
    store.close()
    with StoreReader(log) as reader:
        assert [(session.player, session.entries) for session in reader.sessions()] == [("Ann", 2), ("Ben", 1), ("", 1)]
    past = entries_before(log, now_wall_s=1e10)
    assert sorted(entry.player or "" for entry in past) == ["", "Ann", "Ann", "Ben"]


def begun(tmp_path: Path) -> tuple[LiveSession, list[str]]:
    said: list[str] = []
    remarks = Remarks(held=False)
    remarks.say = said.append  # type: ignore[method-assign]
    return LiveSession(Wanted(headless=True, log=tmp_path / "log.sqlite"), Printer(None), remarks), said


def curled_high(log: Path, *, player: str) -> None:
    """Sessions of one player, a day apart and before today, whose curls stand at 65 cents."""
    by_session: dict[int, list[LogEntry]] = {}
    for session, entry in entries(CLEAN | {"b3 curl": Habit(bias=65.0, scatter=2.0)}, seed=4, tries=2):
        by_session.setdefault(session, []).append(entry)
    for session, played in by_session.items():
        begun_s = time.time() - 86_400.0 * (len(by_session) - session + 1)
        store = open_store(log, player=player, wall=lambda at=begun_s: at, monotonic=lambda: 0.0)
        store.append(played)
        store.close()


@pytest.mark.parametrize(
    ("bands", "word"), [("", "b3 high"), ("bands: {zone_high_cents: 70, zone_near_cents: 80}\n", "")]
)
def test_the_look_back_of_the_pedal_is_by_the_bands_of_the_settings(
    own_home: Path, tmp_path: Path, bands: str, word: str
) -> None:
    curled_high(tmp_path / "log.sqlite", player="")
    (own_home / "undertoe.yaml").write_text(bands)
    pedal, _ = begun(tmp_path)[0]._pedal_and_log_writer(load(own_home / "undertoe.yaml"))
    _, (_, month) = pedal._looks
    assert (month.sessions, month.word) == (24, word)


@pytest.mark.parametrize(("names", "looks"), [("[Ben, Ann]", 2), ("[Ben]", 0)])
def test_a_name_that_the_settings_lost_leaves_no_look_back_to_who_plays_then(
    own_home: Path, tmp_path: Path, names: str, looks: int
) -> None:
    curled_high(tmp_path / "log.sqlite", player="Ann")
    (own_home / "undertoe.yaml").write_text(f"players: {{names: {names}}}\n")
    settings = load(own_home / "undertoe.yaml")
    MemoryFile(settings.state.folder / FILE_NAME, {"player": "Ben"}).save({"player": "Ann"})
    pedal, _ = begun(tmp_path)[0]._pedal_and_log_writer(settings)
    assert (pedal.settings.player, len(pedal._looks[1])) == ("Ann" if looks else "Ben", looks)


def test_homework_beside_the_settings_reaches_the_pedal(own_home: Path, tmp_path: Path) -> None:
    (own_home / "homework.yaml").write_text("targets:\n  - bend: 2/6\n")
    session, said = begun(tmp_path)
    pedal, _ = session._pedal_and_log_writer(load(None))
    assert pedal.settings.homework is not None
    assert [task.string for task in pedal.settings.homework.tasks] == [2]
    assert said == []


def test_a_broken_homework_stops_nothing_and_is_told(own_home: Path, tmp_path: Path) -> None:
    (own_home / "homework.yaml").write_text("targets:\n  - bend: 2/99\n  - bend: 8/1\n")
    session, said = begun(tmp_path)
    pedal, _ = session._pedal_and_log_writer(load(None))
    assert pedal.settings.homework is None
    assert len(said) == 2
    assert "homework.yaml:2: targets 1 bend" in said[0]


@pytest.mark.parametrize(("stick", "beside", "string"), [(100, 200, 3), (200, 100, 2), (100, None, 2), (None, 100, 3)])
def test_of_two_homeworks_the_one_that_came_last_counts(
    own_home: Path, tmp_path: Path, stick: int | None, beside: int | None, string: int
) -> None:
    """The fault: what a stick had brought once stood before every later file of the teacher's."""
    settings = load(None)
    for folder, came_s, spot in ((settings.state.folder, stick, "2/6"), (own_home, beside, "3/7")):
        if came_s is not None:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / "homework.yaml").write_text(f"targets:\n  - bend: {spot}\n")
            os.utime(folder / "homework.yaml", (came_s, came_s))
    pedal, _ = begun(tmp_path)[0]._pedal_and_log_writer(settings)
    assert pedal.settings.homework is not None
    assert [task.string for task in pedal.settings.homework.tasks] == [string]


def test_without_a_file_there_is_none(tmp_path: Path) -> None:
    pedal, _ = begun(tmp_path)[0]._pedal_and_log_writer(load(None))
    assert pedal.settings.homework is None


HOUR_S = 3600.0


def bent_true(log: Path, *, begun_s: float) -> None:
    """A session of one true bend at 2/6, three minutes after the pedal was switched on."""
    store = open_store(log, wall=lambda: begun_s, monotonic=lambda: 0.0)
    store.append([LogEntry(180.0, "ladder", "G minor pentatonic", replace(BENT, verdict="true"), 1, 2, 6, "G4")])
    store.close()


@pytest.mark.parametrize(("days_ahead", "true"), [(200, 2), (-3, 3)], ids=["clock behind", "clock right"])
def test_a_day_ahead_of_the_clock_counts_from_when_the_homework_came(
    own_home: Path, tmp_path: Path, days_ahead: int, true: int
) -> None:
    """The fault: a pedal without a network is months behind, and no try counted for a homework with a day, ever."""
    log, file = tmp_path / "log.sqlite", own_home / "homework.yaml"
    for hours_ago in (30, 20, 10):
        bent_true(log, begun_s=time.time() - hours_ago * HOUR_S)
    file.write_text(f"since: {date.today() + timedelta(days=days_ahead)}\ntargets:\n  - bend: 2/6\n")
    came_s = time.time() - 25 * HOUR_S
    os.utime(file, (came_s, came_s))
    pedal, _ = begun(tmp_path)[0]._pedal_and_log_writer(load(None))
    assert pedal._homework is not None
    assert pedal._homework.true(pedal._homework.homework.tasks[0]) == true


DAY_S = 1_790_000_000.0


@pytest.mark.parametrize(
    ("came_s", "now_s", "from_s"),
    [
        (DAY_S - 9.0, DAY_S, DAY_S),
        (DAY_S + 9.0, DAY_S + 99.0, DAY_S),
        (DAY_S - 99.0, DAY_S - 9.0, DAY_S - 99.0),
        (DAY_S - 9.0, DAY_S - 99.0, float("-inf")),
        (900.0, 999.0, float("-inf")),
    ],
    ids=["on the day", "came later", "clock behind", "clock set back since it came", "clock never set"],
)
def test_from_when_a_homework_with_a_day_counts(came_s: float, now_s: float, from_s: float) -> None:
    assert counts_from_s(DAY_S, came_s=came_s, now_wall_s=now_s) == from_s
