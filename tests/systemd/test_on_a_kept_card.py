"""On a kept card the system lies in memory: what the next start would undo is refused before it is begun."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

INSTALL = Path(__file__).resolve().parents[2] / "install"
KEPT = "undertoe-overlay / overlay rw,lowerdir=/run/undertoe-below 0 0\n"
CHANGES = [["install.sh"], ["rollback.sh"], ["uninstall.sh"], ["quick_start.sh"], ["quick_start.sh", "undo"]]


def run(root: Path, script: str, *words: str, mounts: str, **more: str) -> subprocess.CompletedProcess[str]:
    """The script on a machine with these mounts, and with no program by which it could change anything here."""
    (root / "bin").mkdir()
    for name in ("sh", "grep", "dirname"):
        (root / "bin" / name).symlink_to(shutil.which(name))
    (root / "bin/id").write_text("#!/bin/sh\necho 0\n")
    (root / "bin/id").chmod(0o755)
    (root / "mounts").write_text(mounts)
    (root / "undertoe-log.service").touch()
    for path in INSTALL.glob("*.sh"):
        text = path.read_text().replace("/proc/mounts", f"{root}/mounts")
        (root / path.name).write_text(text.replace("/etc/systemd/system/undertoe-log", f"{root}/undertoe-log"))
    return subprocess.run(
        ["sh", root / script, *words], capture_output=True, text=True, timeout=60, check=False,
        env={"PATH": str(root / "bin"), **more},
    )  # fmt: skip


@pytest.mark.parametrize("words", CHANGES, ids="-".join)
def test_what_would_be_gone_at_the_next_start_is_refused(tmp_path: Path, words: list[str]) -> None:
    """The fault: it said "installed", and the next start had the old release."""
    done = run(tmp_path, *words, mounts=KEPT)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "undertoe: the card is kept, and what is changed now is gone at the next start: "
        "make open-card, start anew, and then again\n"
    )


@pytest.mark.parametrize("words", CHANGES, ids="-".join)
def test_an_open_card_is_not_called_kept(tmp_path: Path, words: list[str]) -> None:
    assert "the card is kept" not in run(tmp_path, *words, mounts="/dev/mmcblk0p2 / ext4 rw 0 0\n").stderr


@pytest.mark.parametrize("purge", ["", "1"])
def test_a_log_on_a_file_system_of_its_own_is_brought_back_before_the_program_goes(tmp_path: Path, purge: str) -> None:
    """The fault: with PURGE=1 it ended half-way, at what is mounted; without, the log lay nowhere."""
    done = run(tmp_path, "uninstall.sh", mounts="/dev/mmcblk0p2 / ext4 rw 0 0\n", PURGE=purge)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == "undertoe: the log lies on a file system of its own: make open-card first brings it back\n"
