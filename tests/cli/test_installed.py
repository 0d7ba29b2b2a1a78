"""The command line on an installed pedal: whose log is read, and to whom belongs what root writes there."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import wave
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from pedal.cli import installed
from pedal.cli.entry import main
from pedal.errors import StoreError
from pedal.live import one_at_a_time
from pedal.live.lick_folder import FOLDER, LickFolder
from pedal.live.memory_file import MemoryFile
from pedal.log import open_store
from pedal.modes.lick_shelf import KeptLick
from pedal.safe_files import as_its_folder, writing
from pedal.synth.drills import lick_of_the_scene
from tests.progress.invented_month import CLEAN, entries

as_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root may give a file away")


@pytest.fixture
def service(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The state folder of an installed pedal, with a log in it; the player's own folder holds none."""
    state, file = tmp_path / "service", tmp_path / "undertoe.yaml"
    state.mkdir()
    file.touch()
    monkeypatch.setattr(installed, "SERVICE_STATE", state)
    monkeypatch.setattr(installed, "SERVICE_FILE", file)
    monkeypatch.setenv("STATE_DIRECTORY", "")  # so that what is set meanwhile is taken back
    monkeypatch.delenv("STATE_DIRECTORY")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    store = open_store(state / "log.sqlite")
    store.append([entry for session, entry in entries(CLEAN, seed=1, tries=2, traces=True) if session == 1])
    store.close()
    return state


def becomes(monkeypatch: pytest.MonkeyPatch, user: int) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: user)


@pytest.mark.parametrize(("user", "config", "means"), [(0, None, True), (1000, None, False), (0, "x", False)])
def test_root_on_an_installed_pedal_means_the_service(
    service: Path, monkeypatch: pytest.MonkeyPatch, user: int, config: str | None, means: bool
) -> None:
    becomes(monkeypatch, user)
    arguments = argparse.Namespace(verb="review", config=Path(config) if config else None)
    installed.for_the_service(arguments)
    assert (os.environ.get("STATE_DIRECTORY") == str(service)) is means
    assert (arguments.config == installed.SERVICE_FILE) is means


def test_root_reads_the_pedals_own_log(
    service: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    becomes(monkeypatch, 0)
    assert main(["review", "--json"]) == 0
    assert '"sessions"' in capsys.readouterr().out


def test_whoever_logs_in_is_told_whose_log_that_is(
    service: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    becomes(monkeypatch, 1000)
    assert main(["review"]) == 1
    assert "undertoe: this is not the installed pedal's own: sudo undertoe review\n" in capsys.readouterr().err
    assert main(["review", "--log", str(service / "log.sqlite")]) == 0  # it was said which
    assert "sudo" not in capsys.readouterr().err


@as_root
@pytest.mark.parametrize(
    "write",
    [
        lambda folder: (
            KeptLick(1, lick_of_the_scene()) and LickFolder(folder / FOLDER).keep(KeptLick(1, lick_of_the_scene()))
        ),
        lambda folder: MemoryFile(folder / "set_up.json", {}).save({"panel": "done"}),
        lambda folder: open_store(folder / "log.sqlite").close(),
        lambda folder: one_at_a_time.let_go(one_at_a_time.hold(folder)),
    ],
    ids=["lick", "found", "log", "running"],
)
def test_what_root_writes_belongs_to_whom_the_folder_belongs(tmp_path: Path, write: Callable[[Path], object]) -> None:
    os.chown(tmp_path, 12345, 12346)
    write(tmp_path)
    made = list(tmp_path.rglob("*"))
    assert made
    assert {(path.stat().st_uid, path.stat().st_gid) for path in made} == {(12345, 12346)}


@as_root
def test_nothing_is_given_away_through_a_link(tmp_path: Path) -> None:
    target, folder = tmp_path / "roots", tmp_path / "others"
    target.touch()
    folder.mkdir()
    os.chown(folder, 12345, 12346)
    (folder / "link").symlink_to(target)
    as_its_folder(folder / "link")
    with pytest.raises(StoreError), writing(folder / "link"):
        pass
    assert target.stat().st_uid == 0


@as_root
def test_a_folder_that_may_not_be_looked_into_is_one_sentence(service: Path) -> None:
    service.chmod(0o700)
    blind = ["setpriv", "--bounding-set=-dac_override,-dac_read_search", "--inh-caps=-dac_override,-dac_read_search"]
    os.chown(service, 65534, 65534)
    log = service / "log.sqlite"
    done = subprocess.run(
        [*blind, sys.executable, "-m", "pedal.cli.entry", "review", "--log", log],
        capture_output=True, text=True, check=False, timeout=60,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr == f"undertoe: {log} may not be read or written by this user: sudo, or name another\n"


@pytest.mark.parametrize("verb", [["lick"], ["doctor", "--json", "--no-listen"]])
def test_the_other_verbs_that_look_at_the_pedal_do_the_same(
    service: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], verb: list[str]
) -> None:
    LickFolder(service / FOLDER).keep(KeptLick(7, replace(lick_of_the_scene(), name="old gate")))
    becomes(monkeypatch, 1000)
    main(verb)
    said = capsys.readouterr()
    assert f"sudo undertoe {verb[0]}" in said.err
    assert "old gate" not in said.out and str(service) not in said.out
    becomes(monkeypatch, 0)
    main(verb)
    said = capsys.readouterr()
    assert "sudo undertoe" not in said.err
    assert "old gate" in said.out or str(service) in said.out


@pytest.fixture
def take_of_silence(tmp_path: Path) -> str:
    path = tmp_path / "take.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 48_000, 0, "NONE", ""))
        file.writeframes(bytes(48_000))
    return str(path)


def test_root_shows_a_position_of_the_pedals_own_key(
    service: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The fault: where root has settings of its own, or a stick brought others to the pedal, these were shown."""
    installed.SERVICE_FILE.write_text("key: C blues\n")
    for user, key, told in ((1000, "G minor pentatonic", True), (0, "C blues", False)):
        becomes(monkeypatch, user)
        assert main(["map", "--json"]) == 0
        said = capsys.readouterr()
        assert json.loads(said.out)["key"] == key
        assert ("sudo undertoe map" in said.err) is told


@pytest.mark.parametrize(("user", "status"), [(0, 0), (1000, 2)])
def test_root_judges_a_take_by_a_lick_of_the_pedals_own(
    service: Path, monkeypatch: pytest.MonkeyPatch, take_of_silence: str, user: int, status: int
) -> None:
    LickFolder(service / FOLDER).keep(KeptLick(7, replace(lick_of_the_scene(), name="old gate")))
    becomes(monkeypatch, user)
    assert main(["read", take_of_silence, "--lick", "old gate"]) == status


def test_a_log_to_write_to_does_not_say_whose_settings_a_take_is_judged_by(
    service: Path, monkeypatch: pytest.MonkeyPatch, take_of_silence: str, tmp_path: Path
) -> None:
    becomes(monkeypatch, 0)
    assert main(["read", take_of_silence, "--log", str(tmp_path / "kept.sqlite")]) == 0
    assert os.environ.get("STATE_DIRECTORY") == str(service)


@pytest.mark.parametrize("user", [0, 1000])
def test_root_checks_homework_for_the_pedals_own_players_and_licks(
    service: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path, user: int
) -> None:
    installed.SERVICE_FILE.write_text("players: {names: [Ann]}\n")
    LickFolder(service / FOLDER).keep(KeptLick(7, replace(lick_of_the_scene(), name="old gate")))
    homework = tmp_path / "homework.yaml"
    homework.write_text("for: Ann\ntargets:\n  - lick: old gate\n")
    becomes(monkeypatch, user)
    status = main(["check", str(homework)])
    said = capsys.readouterr()
    if user == 0:
        assert (status, said.err) == (0, "")
        assert "not kept" not in said.out
    else:
        assert status == 2
        assert "sudo undertoe check" in said.err


def test_root_checks_the_pedals_own_file_where_none_is_named(
    service: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    own = tmp_path / "home" / "undertoe" / "undertoe.yaml"
    own.parent.mkdir(parents=True)
    own.write_text("capo: 2\n")
    becomes(monkeypatch, 0)
    assert main(["check"]) == 0
    assert f"{installed.SERVICE_FILE}: good" in capsys.readouterr().out
    assert main(["check", str(own)]) == 0
    assert f"{own}: good" in capsys.readouterr().out
