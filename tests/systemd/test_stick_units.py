"""The units of stick and card: nothing to complain of, a small fence each, and rights that are named one by one."""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path

import pytest

from pedal.cli.entry import _parser
from tests.systemd.test_unit import PROGRAM, analyze, analyzed

UNITS = Path(__file__).resolve().parents[2] / "systemd"
INSTALL = UNITS.parent / "install"
COPY, MOUNT, CARD = "undertoe-stick@.service", "undertoe-stick-mount@.service", "undertoe-card.service"
EXPOSED_AT_MOST = {COPY: 1.0, MOUNT: 6.0, CARD: 2.5}
"""What mounts cannot have folders of its own, which the scale counts for much."""


def text(name: str) -> str:
    return (UNITS / name).read_text()


def values(name: str, key: str) -> list[str]:
    return re.findall(rf"^{key}=(.*)$", text(name), re.MULTILINE)


def standing(tmp_path: Path, name: str) -> Path:
    """The units as they would stand where the program is installed, instance "sda1"."""
    program = tmp_path / "undertoe"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    for unit in (COPY, MOUNT, CARD):
        (tmp_path / unit.replace("@.", "@sda1.")).write_text(text(unit).replace(PROGRAM, str(program)))
    return tmp_path / name.replace("@.", "@sda1.")


@analyze
@pytest.mark.parametrize("name", EXPOSED_AT_MOST)
def test_the_service_manager_has_nothing_to_complain_of(tmp_path: Path, name: str) -> None:
    done = analyzed("verify", "--man=no", str(standing(tmp_path, name)))
    assert done.stdout + done.stderr == ""


@analyze
@pytest.mark.parametrize(("name", "most"), EXPOSED_AT_MOST.items())
def test_the_exposure_is_no_more_than_it_has_to_be(tmp_path: Path, name: str, most: float) -> None:
    done = analyzed("security", "--offline=true", str(standing(tmp_path, name)))
    found = re.search(r"Overall exposure level for .*: ([0-9.]+)", done.stdout)
    assert found is not None and float(found[1]) <= most, done.stdout[-300:]


def test_what_reads_a_stick_is_the_pedals_user_without_any_right() -> None:
    assert values(COPY, "User") == ["undertoe"]
    assert values(COPY, "CapabilityBoundingSet") == [""]
    assert values(COPY, "ReadWritePaths") == ["/run/undertoe-stick/%i"]


def test_what_mounts_has_one_right_and_a_stick_brings_no_programs_owners_or_devices() -> None:
    assert values(MOUNT, "CapabilityBoundingSet") == ["CAP_SYS_ADMIN"]
    [mount] = [line for line in values(MOUNT, "ExecStart") if "/bin/mount" in line]
    assert "-t vfat,exfat" in mount
    assert {"nosuid", "nodev", "noexec", "uid=undertoe", "umask=077"} <= set(re.split(r"[ ,]", mount))


def test_the_card_is_written_to_once_and_only_where_somebody_asked() -> None:
    assert "/boot/firmware/undertoe" in values(CARD, "ConditionPathIsDirectory")
    assert values(CARD, "ConditionPathExists") == ["!/boot/firmware/undertoe/log.jsonl"]
    assert values(CARD, "CapabilityBoundingSet") == ["CAP_SETUID CAP_SETGID"]
    assert "--reuid=undertoe --regid=undertoe --clear-groups --no-new-privs" in values(CARD, "ExecStart")[0]


@pytest.mark.parametrize("name", sorted(path.name for path in UNITS.glob("*.service")))
def test_no_unit_of_another_user_is_given_the_pedals_folder(name: str) -> None:
    """The fault: after the card's copy the log belonged to root, so nothing could be copied, nor written by the pedal.

    "If the specified directories already exist and their owning user or group do not match the configured ones, all
    files and directories below as well as the directories themselves will have their file ownership recursively
    changed" (systemd.exec(5), StateDirectory=).
    """
    if values(name, "StateDirectory"):
        assert (values(name, "User"), values(name, "StateDirectoryMode")) == (["undertoe"], ["0700"])


@pytest.mark.parametrize(
    ("options", "opened"),
    [("rw,relatime,fmask=0022,shortname=mixed,errors=remount-ro", False), ("ro,relatime,errors=remount-ro", True)],
)
def test_only_a_partition_that_is_read_only_is_opened_and_closed_again(
    tmp_path: Path, options: str, *, opened: bool
) -> None:
    """The fault: "remount-ro", which FAT always shows, passed for "ro": after the copy the card could not be edited."""
    (tmp_path / "findmnt").write_text(f"#!/bin/sh\necho {options}\n")
    (tmp_path / "mount").write_text(f'#!/bin/sh\necho "$*" >> {tmp_path}/mounted\n')
    for program in ("findmnt", "mount"):
        (tmp_path / program).chmod(0o755)
    for line in (*values(CARD, "ExecStartPre"), values(CARD, "ExecStopPost")[-1]):
        command = re.fullmatch(r"[+-]*/bin/sh -c '(.*)'", line)
        assert command is not None
        words = command[1].replace("/run/", f"{tmp_path}/")
        env = {"PATH": f"{tmp_path}:{os.environ['PATH']}"}
        subprocess.run(["sh", "-c", words], env=env, check=True, timeout=60)
    done = (tmp_path / "mounted").read_text() if (tmp_path / "mounted").exists() else ""
    both = "-o remount,rw /boot/firmware\n-o remount,ro /boot/firmware\n"
    assert done == (both if opened else "")


def test_a_card_that_was_written_to_half_way_is_written_to_at_the_next_start(tmp_path: Path) -> None:
    """The fault: the log goes first, so what the power cut left of it said that all was done."""
    folder, archive = tmp_path / "boot/firmware/undertoe", tmp_path / "archive.tar"
    folder.mkdir(parents=True)
    for name in ("log.jsonl", "take.wav"):
        (tmp_path / name).write_text("a line of it\n" * 4000)
    subprocess.run(["tar", "-cf", archive, "-C", tmp_path, "log.jsonl", "take.wav"], check=True)
    whole = archive.read_bytes()
    (tmp_path / "setpriv").write_text(f"#!/bin/sh\ncat {archive}\n")
    (tmp_path / "setpriv").chmod(0o755)
    command = re.fullmatch(r"/bin/sh -c '(.*)'", values(CARD, "ExecStart")[0])
    assert command is not None
    for length in (0, 20_000, len(whole) - 20_000, len(whole)):
        archive.write_bytes(whole[:length])
        done = subprocess.run(
            ["sh", "-c", command[1].replace("/boot/firmware", f"{tmp_path}/boot/firmware")],
            env={"PATH": f"{tmp_path}:{os.environ['PATH']}"}, capture_output=True, check=False, timeout=60,
        )  # fmt: skip
        assert (done.returncode == 0) is (length == len(whole))
        assert (folder / "log.jsonl").exists() is (length == len(whole)), length
    assert sorted(path.name for path in folder.iterdir()) == ["log.jsonl", "take.wav"]
    assert (folder / "log.jsonl").read_text() == (tmp_path / "log.jsonl").read_text()


@pytest.mark.parametrize("name", [COPY, CARD])
def test_the_command_is_one_that_the_program_understands(name: str) -> None:
    words = re.search(rf"{PROGRAM} (carry [^|]*?)( \||$)", values(name, "ExecStart")[0])
    assert words is not None
    arguments = _parser(words[1].split()).parse_args(words[1].split())
    assert (arguments.verb, arguments.tar) == ("carry", name == CARD)


def test_only_fat_on_usb_is_looked_at() -> None:
    [rule] = [line for line in text("90-undertoe-stick.rules").splitlines() if not line.startswith("#")]
    for asked in (
        'SUBSYSTEMS=="usb"',
        'ENV{ID_FS_TYPE}=="vfat|exfat"',
        'ENV{SYSTEMD_WANTS}+="undertoe-stick@%k.service"',
    ):
        assert asked in rule


def test_all_is_installed_and_taken_away_again() -> None:
    for name in (COPY, MOUNT, CARD, "90-undertoe-stick.rules"):
        assert name in (INSTALL / "install.sh").read_text(), name
        assert name in (INSTALL / "uninstall.sh").read_text(), name
