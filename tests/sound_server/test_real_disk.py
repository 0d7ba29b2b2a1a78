"""A disk that is full, or read-only: a real file system of its own under the state folder of the real command.

The pedal runs in a mount namespace, where a small tmpfs can be mounted without touching the machine.
"""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

import pytest

from tests.sound_server.pedal_process import PedalProcess, told_true, true_bends, until
from tests.sound_server.server import SoundServer

WORDS = ("--input", "guitar_in", "--headless", "--json", "--no-drone")
NAMESPACE = ("unshare", "--user", "--map-root-user", "--mount")


def may_mount() -> bool:
    tries = [*NAMESPACE, "mount", "-t", "tmpfs", "-o", "size=64k", "none", "/mnt"]
    if shutil.which("unshare") is None:
        return False
    return subprocess.run(tries, check=False, capture_output=True).returncode == 0


pytestmark = [
    pytest.mark.sound_server,
    pytest.mark.skipif(not may_mount(), reason="no mount namespace may be made here"),
]


def on_a_disk(folder: Path, script: str) -> tuple[str, ...]:
    """Runs what follows with a disk of 200 kB mounted over `folder`, after `script` has prepared it."""
    mount = f"mount -t tmpfs -o size=200k none '{folder}' && cd '{folder}' && {script} && exec \"$@\""
    return (*NAMESPACE, "sh", "-c", mount, "sh")


def inside(pedal: PedalProcess, folder: Path) -> Path:
    """The folder as the pedal sees it."""
    return Path(f"/proc/{pedal.process.pid}/root{folder}")


def test_a_read_only_disk_is_said_and_every_bend_is_judged(server: SoundServer, bend: Path, state: Path) -> None:
    folder = state / "undertoe"
    folder.mkdir(parents=True)
    through = on_a_disk(folder, f"mount -o remount,ro '{folder}'")
    with PedalProcess(server.environment, state, *WORDS, through=through) as pedal:
        pedal.until_said("listening to")
        for _ in range(2):
            told_true(pedal, lambda: server.plays_whole(bend))
        pedal.until_said("log")
        assert pedal.stop()[0] == 0
        assert "Traceback" not in pedal.said
        of_the_log = [line for line in pedal.said.splitlines() if "log" in line]
        assert len([line for line in of_the_log if "entries lost" not in line]) == 1, pedal.said


def test_a_full_disk_pauses_the_log_and_nothing_is_missing_once_there_is_room(
    server: SoundServer, bend: Path, state: Path, tmp_path: Path
) -> None:
    folder = state / "undertoe"
    folder.mkdir(parents=True)
    with PedalProcess(server.environment, state, *WORDS, through=on_a_disk(folder, "true")) as pedal:
        pedal.until_said("listening to")
        told_true(pedal, lambda: server.plays_whole(bend))
        log = inside(pedal, folder) / "log.sqlite"
        until(lambda: rows(log, tmp_path) == true_bends(pedal) >= 1, what="the first row")
        ballast = inside(pedal, folder) / "ballast"
        with pytest.raises(OSError, match="No space left"), ballast.open("wb") as file:
            while True:
                file.write(bytes(512))
                file.flush()
        for _ in range(2):
            told_true(pedal, lambda: server.plays_whole(bend))
        pedal.until_said("full")
        ballast.unlink()
        until(
            lambda: rows(log, tmp_path) == true_bends(pedal) >= 3, what=f"the rows that waited; it said {pedal.said!r}"
        )
        assert pedal.stop()[0] == 0
        assert "Traceback" not in pedal.said


def rows(log: Path, aside: Path) -> int:
    """True bends in a log in the namespace: copied out, for SQLite would resolve the path in ours."""
    for end in ("", "-wal"):
        if Path(f"{log}{end}").exists():
            shutil.copy(f"{log}{end}", aside / f"copy.sqlite{end}")
    try:
        with closing(sqlite3.connect(aside / "copy.sqlite")) as copy:
            return int(copy.execute("SELECT count(*) FROM log WHERE kind = 'bend' AND verdict = 'true'").fetchone()[0])
    except sqlite3.DatabaseError:  # it is being made, or was copied in the middle of a write
        return 0
