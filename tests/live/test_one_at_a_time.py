"""One pedal a state folder: the second is told so, and a killed one leaves nothing in the way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from pedal.live import one_at_a_time
from pedal.live.one_at_a_time import AlreadyRunningError

HOLDER = """
import sys, time
from pathlib import Path
from pedal.live.one_at_a_time import hold
assert hold(Path(sys.argv[1])) is not None
print("held", flush=True)
sys.stdin.read()
"""


def test_the_second_is_told_who_has_it_and_a_kill_frees_it(tmp_path: Path) -> None:
    folder = tmp_path / "state"
    words = [sys.executable, "-c", HOLDER, str(folder)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "held\n"
        with pytest.raises(AlreadyRunningError) as refusal:
            one_at_a_time.hold(folder)
        assert str(refusal.value) == (
            f"the pedal is already running with {folder} (process {first.pid}): stop that one first, or set "
            "state.folder to another place"
        )
        assert refusal.value.exit_status == 1
        first.send_signal(signal.SIGKILL)
    held = one_at_a_time.hold(folder)
    assert held is not None
    assert (folder / one_at_a_time.FILE_NAME).read_text() == f"{os.getpid()}\n"
    one_at_a_time.let_go(held)


def test_it_can_be_held_again_after_it_was_let_go(tmp_path: Path) -> None:
    for _ in range(2):
        held = one_at_a_time.hold(tmp_path)
        assert held is not None
        one_at_a_time.let_go(held)


def test_a_folder_that_cannot_be_is_no_reason_not_to_play(tmp_path: Path) -> None:
    (tmp_path / "state").write_text("a file where the folder should be")
    assert one_at_a_time.hold(tmp_path / "state") is None
    one_at_a_time.let_go(None)


def test_a_full_disk_is_no_reason_not_to_play(tmp_path: Path) -> None:
    no_room = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))"  # the kernel refuses each byte
    words = [sys.executable, "-c", f"{no_room}\n{HOLDER}", str(tmp_path)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as full:
        assert full.stdout is not None
        assert full.stdout.readline() == "held\n"
        with pytest.raises(AlreadyRunningError):
            one_at_a_time.hold(tmp_path)
        full.stdin.close()  # type: ignore[union-attr]
