"""docs/first-change.md, done as written in a copy of the tree."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parent.parent
PAGE = (REPOSITORY / "docs" / "first-change.md").read_text()
_PLACE = r"In\s+`(?P<file>[\w/.]+)`, (?P<side>below|above) `(?P<anchor>[^`]+)`:\n\n```python\n(?P<lines>.*?)```"
_WORDS = r"In `(?P<in>[\w/.]+)`, `(?P<old>[^`]+)` becomes `(?P<new>[^`]+)`"
_FILE = r"New\s+file `(?P<created>[\w/.]+)`:\n\n```python\n(?P<text>.*?)```"
_RUN = r"```sh(?P<fails> fails)?\n(?P<commands>.*?)```"
STEP = re.compile(f"{_PLACE}|{_WORDS}|{_FILE}|{_RUN}", re.DOTALL)
TOOLS = {"pytest": "pytest", "mypy": "mypy", "undertoe": "pedal.cli.entry"}


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The tracked part of the tree that the page touches, with the configuration of its tools."""
    for name in ("pedal", "hw", "tests"):
        shutil.copytree(REPOSITORY / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(REPOSITORY / name, tmp_path / name)
    known = REPOSITORY / ".mypy_cache"  # what it has checked it knows by time and size, which a copy keeps
    if known.is_dir():
        shutil.copytree(known, tmp_path / ".mypy_cache")
    return tmp_path


def put(text: str, step: re.Match[str]) -> str:
    """The text with lines beside the line that an anchor begins or ends."""
    at = text.find(step["anchor"])
    assert at >= 0, f"{step['file']} has no {step['anchor']!r} any more"
    if step["side"] == "below":
        at = text.index("\n", at + len(step["anchor"])) + 1
    return text[:at] + step["lines"] + text[at:]


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    *settings, rest = command.split(" ", 1) if "=" in command.split(" ", 1)[0] else [command]
    tool, _, words = rest.partition(" ")
    environment = os.environ | {"PYTHONPATH": str(folder)} | dict(word.split("=", 1) for word in settings)
    quoted = [one or other for one, other in re.findall(r'"([^"]*)"|(\S+)', words)]
    launch = [sys.executable, "-m", TOOLS[tool], *quoted]
    if tool == "undertoe":
        launch[1:3] = ["-c", "import sys; from pedal.cli.entry import main; sys.exit(main(sys.argv[1:]))"]
    return subprocess.run(launch, cwd=folder, env=environment, capture_output=True, text=True, timeout=280, check=False)


def test_the_page_is_done_as_it_is_written(copy: Path) -> None:
    done = 0
    for step in STEP.finditer(PAGE):
        if step["file"]:
            (copy / step["file"]).write_text(put((copy / step["file"]).read_text(), step))
        elif step["in"]:
            text = (copy / step["in"]).read_text()
            assert text.count(step["old"]) == 1, step["in"]
            (copy / step["in"]).write_text(text.replace(step["old"], step["new"]))
        elif step["created"]:
            assert not (copy / step["created"]).exists()
            (copy / step["created"]).write_text(step["text"])
        else:
            for command in step["commands"].splitlines():
                ended = run(command, copy)
                assert (ended.returncode != 0) == bool(step["fails"]), (
                    f"{command}\n{ended.stdout[-3000:]}{ended.stderr}"
                )
        done += 1
    assert done > 15
