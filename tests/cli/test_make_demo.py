"""`make demo`: what it starts, in a terminal and out of one, with a stand-in for the program."""

from __future__ import annotations

import os
import pty
import subprocess
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the Makefile finds all set up, and a program that says what it was asked."""
    programs = tmp_path / ".venv/bin"
    programs.mkdir(parents=True)
    (tmp_path / "pyproject.toml").touch()
    for name, words in (("pip", "exit 0"), ("undertoe", 'echo "asked: $*."')):
        (programs / name).write_text(f"#!/bin/sh\n{words}\n")
        (programs / name).chmod(0o755)
    (tmp_path / ".venv/.run").touch()
    return tmp_path


def started(folder: Path, *, term: str, at_terminal: bool) -> str:
    """What the program was asked."""
    command = ["make", "-s", "-f", REPOSITORY / "Makefile", "demo"]
    environment = {"PATH": os.environ["PATH"], "TERM": term}
    if not at_terminal:
        done = subprocess.run(
            command, cwd=folder, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=True,
            timeout=60,
        )  # fmt: skip
        return done.stdout.strip()
    ours, its = pty.openpty()
    try:
        subprocess.run(command, cwd=folder, env=environment, stdin=its, stdout=its, stderr=its, check=True, timeout=60)
        return os.read(ours, 1000).decode().strip()
    finally:
        os.close(ours)
        os.close(its)


def test_in_a_terminal_the_pedal_itself_is_seen(folder: Path) -> None:
    assert started(folder, term="xterm", at_terminal=True) == "asked: demo."


def test_where_no_picture_can_be_drawn_the_verdicts_are_printed(folder: Path) -> None:
    assert started(folder, term="xterm", at_terminal=False) == "asked: demo --headless."
    assert started(folder, term="dumb", at_terminal=True) == "asked: demo --headless."
