"""Players and homework over the disk: each player's session, what is read back of it, and a file that is broken."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedal.live.past import entries_before
from pedal.live.printer import Printer
from pedal.live.remarks import Remarks
from pedal.live.session import LiveSession, Wanted
from pedal.log import StoreReader, open_store
from pedal.modes.log_entry import LogEntry
from pedal.settings.load import load


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


def test_without_a_file_there_is_none(tmp_path: Path) -> None:
    pedal, _ = begun(tmp_path)[0]._pedal_and_log_writer(load(None))
    assert pedal.settings.homework is None
