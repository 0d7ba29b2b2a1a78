"""`undertoe demo --log` is killed wherever it happens to be: what was logged is sound, and the next start goes on."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pedal.cli.entry import main


def killed_somewhere(log: Path, after_s: float) -> None:
    words = [sys.executable, "-m", "pedal.cli.entry", "demo", "--headless", "--fast", "--log", str(log)]
    with subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as demo:
        try:  # not for synchronising: the kill is to fall anywhere
            demo.wait(after_s)
        except subprocess.TimeoutExpired:
            os.kill(demo.pid, signal.SIGKILL)


def kill_and_look(folder: Path, kills: int) -> int:
    log = folder / "log.sqlite"
    rows = 0
    for after_s in np.random.default_rng(8).uniform(0.05, 3.0, kills):
        killed_somewhere(log, float(after_s))
        if log.exists():
            file = sqlite3.connect(log)
            assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            tables = file.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'entry'").fetchone()[0]
            now = file.execute("SELECT count(*) FROM entry").fetchone()[0] if tables else 0
            file.close()
            assert now >= rows, "what was kept is gone"
            rows = now
    assert main(["demo", "--headless", "--fast", "--log", str(log)]) == 0
    assert not list(folder.glob("*damaged*"))
    return rows


def test_five_kills(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kill_and_look(tmp_path, 5)
    assert "note" in capsys.readouterr().err


@pytest.mark.soak
def test_sixty_kills(tmp_path: Path) -> None:
    assert kill_and_look(tmp_path, 60) > 0
