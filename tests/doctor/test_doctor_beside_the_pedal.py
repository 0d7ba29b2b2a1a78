"""A pedal that runs has the card, the pins and the panel: the doctor says so, and takes nothing from it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from pedal import wiring
from pedal.cli.entry import main
from pedal.doctor import service
from pedal.doctor.machine import Machine
from pedal.live import one_at_a_time
from pedal.settings.load import load

UNIT_PROCESSES = "sys/fs/cgroup/system.slice/undertoe.service/cgroup.procs"


def machine(root: Path, *, processes: str | None = None) -> Machine:
    if processes is not None:
        (root / UNIT_PROCESSES).parent.mkdir(parents=True, exist_ok=True)
        (root / UNIT_PROCESSES).write_text(processes)
    return Machine(root, {}, frozenset())


@pytest.mark.parametrize(("processes", "found"), [(None, None), ("", None), ("321\n", 321), ("7\n321\n", 7)])
def test_the_service_is_found_by_its_control_group(tmp_path: Path, processes: str | None, found: int | None) -> None:
    settings = load(None, environment={"HOME": str(tmp_path)})
    assert service.pedal_process(machine(tmp_path, processes=processes), settings) == found


def test_a_doctor_that_is_part_of_the_service_does_not_find_itself(tmp_path: Path) -> None:
    settings = load(None, environment={"HOME": str(tmp_path)})
    assert service.pedal_process(machine(tmp_path, processes=f"{os.getpid()}\n"), settings) is None


def test_a_pedal_started_by_hand_is_found_by_its_lock_and_keeps_it(tmp_path: Path) -> None:
    settings = load(None, environment={"HOME": str(tmp_path)})
    assert service.pedal_process(machine(tmp_path), settings) is None
    held = one_at_a_time.hold(settings.state.folder)
    assert service.pedal_process(machine(tmp_path), settings) == os.getpid()
    with pytest.raises(one_at_a_time.AlreadyRunningError):
        one_at_a_time.hold(settings.state.folder)
    one_at_a_time.let_go(held)
    assert service.pedal_process(machine(tmp_path), settings) is None


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """What the command takes of the devices while a pedal runs."""
    took: list[str] = []
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("XDG_STATE_HOME", "XDG_CONFIG_HOME", "STATE_DIRECTORY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(service, "pedal_process", lambda *_: 321)
    for name in ("sound_devices", "audio_source", "panel", "footswitches", "address_answers", "pin_library"):
        monkeypatch.setattr(wiring, name, lambda *_, name=name, **__: took.append(name))
    return took


def test_it_says_who_has_the_devices_and_takes_none(taken: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["doctor"]) in (0, 1)
    told = capsys.readouterr().out
    assert taken == []
    assert "process 321" in told
    assert "sudo systemctl stop undertoe" in told
    assert "no device has an input" not in told


@pytest.mark.parametrize("by_hand", ["--panel", "--switches"])
def test_what_would_fight_for_a_device_is_refused(
    taken: list[str], capsys: pytest.CaptureFixture[str], by_hand: str
) -> None:
    assert main(["doctor", by_hand]) == 2
    assert taken == []
    assert "the pedal is running (process 321)" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("controllers", "marks"),
    [("cpuset cpu io memory pids\n", []), ("cpuset cpu io pids\n", ["warn"]), (None, [])],
)
def test_a_limit_of_memory_that_does_nothing_is_told(tmp_path: Path, controllers: str | None, marks: list[str]) -> None:
    """cgroup v2: `cgroup.controllers` lists what the kernel offers (Documentation/admin-guide/cgroup-v2.rst)."""
    unit = tmp_path / "etc/systemd/system/undertoe.service"
    unit.parent.mkdir(parents=True)
    unit.touch()
    if controllers is not None:
        (tmp_path / "sys/fs/cgroup").mkdir(parents=True)
        (tmp_path / "sys/fs/cgroup/cgroup.controllers").write_text(controllers)
    found = [finding for finding in service.service(machine(tmp_path)) if finding.part == "memory limit"]
    assert [finding.mark for finding in found] == marks
    assert all("cgroup_enable=memory" in finding.remedy for finding in found)
