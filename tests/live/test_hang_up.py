"""A terminal that closes ends what was started in it; the same signal without one asks for new settings."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
from pathlib import Path

WAITER = """
import sys
from pathlib import Path
from pedal.live.service_manager import Signals
with Signals() as signals:
    print("waiting", flush=True)
    Path(sys.argv[1]).write_text(str(signals.wait(60.0)))
"""


def test_a_terminal_that_is_closed_ends_the_pedal(tmp_path: Path) -> None:
    told = tmp_path / "came"
    child, ours = pty.fork()  # a session of its own, with this as its terminal
    if child == 0:
        os.execv(sys.executable, [sys.executable, "-c", WAITER, str(told)])
    said = b""
    while not said.endswith(b"\n"):  # closed under what it still says, the child fails over that
        said += os.read(ours, 100)
    os.close(ours)
    os.waitpid(child, 0)
    assert told.read_text() == str(int(signal.SIGTERM))


def test_without_a_terminal_the_same_signal_asks_for_new_settings(tmp_path: Path) -> None:
    told = tmp_path / "came"
    words = [sys.executable, "-c", WAITER, str(told)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, start_new_session=True) as service:
        assert service.stdout is not None
        service.stdout.readline()
        service.send_signal(signal.SIGHUP)
    assert told.read_text() == str(int(signal.SIGHUP))
