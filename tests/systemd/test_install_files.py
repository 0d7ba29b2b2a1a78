"""What is installed: pinned by hash, from nowhere in particular, by scripts that a checker accepts; pages current."""

from __future__ import annotations

import re
import runpy
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from pedal.app.entry import VERBS

REPOSITORY = Path(__file__).resolve().parents[2]
LOCKS = sorted((REPOSITORY / "install").glob("*.lock"))
SCRIPTS = sorted((REPOSITORY / "install").glob("*.sh")) + sorted((REPOSITORY / "tests/systemd").glob("*.sh"))
PINNED = re.compile(r"^([a-z0-9-]+)==([^ ;]+)", re.MULTILINE)


def canonical(name: str) -> str:
    """A distribution's name as the packaging specification compares it."""
    return re.sub(r"[-_.]+", "-", re.split(r"[<>=!~;\[ ]", name)[0]).lower()


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_everything_in_a_lock_is_pinned_with_hashes(lock: Path) -> None:
    blocks = re.split(r"\n(?=[a-z])", re.sub(r"^#.*\n", "", lock.read_text(), flags=re.MULTILINE).strip())
    assert blocks
    for block in blocks:
        assert PINNED.match(block), block
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", block), block


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_a_lock_names_no_host(lock: Path) -> None:
    assert not re.search(r"https?:|index-url|trusted-host|find-links", lock.read_text())


def test_the_lock_holds_every_library_that_the_project_needs() -> None:
    needed = tomllib.loads((REPOSITORY / "pyproject.toml").read_text())["project"]["dependencies"]
    locked = {name for name, _ in PINNED.findall((REPOSITORY / "install/run.lock").read_text())}
    assert {canonical(name) for name in needed} <= locked, "pin what is new: make lock"


def test_the_pin_library_is_not_the_empty_one() -> None:
    versions = dict(PINNED.findall((REPOSITORY / "install/board.lock").read_text()))
    assert tuple(map(int, versions["lgpio"].split(".")[:2])) >= (0, 2)


@pytest.mark.skipif(shutil.which("shellcheck") is None, reason="no shellcheck on this machine")
@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_the_shell_checker_accepts_the_scripts(script: Path) -> None:
    done = subprocess.run(["shellcheck", script], capture_output=True, text=True, timeout=60, check=False)
    assert done.stdout == ""


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_a_plain_shell_can_read_the_scripts(script: Path) -> None:
    assert subprocess.run(["sh", "-n", script], timeout=60, check=False).returncode == 0


def test_installing_without_root_is_refused(tmp_path: Path) -> None:
    fake = tmp_path / "id"
    fake.write_text("#!/bin/sh\necho 1000\n")
    fake.chmod(0o755)
    for script in ("install", "uninstall"):
        done = subprocess.run(
            ["sh", REPOSITORY / f"install/{script}.sh"], capture_output=True, text=True, timeout=60, check=False,
            env={"PATH": f"{tmp_path}:/usr/bin:/bin"},
        )  # fmt: skip
        assert (done.returncode, done.stdout) == (1, "")
        assert f"needs root: sudo make {script}" in done.stderr


def test_the_manual_is_current() -> None:
    written = runpy.run_path(str(REPOSITORY / "install/manual.py"))["manual"]()
    assert (REPOSITORY / "docs/undertoe.1").read_text() == written, "write it anew: make docs"


def test_the_manual_names_every_verb_with_an_example() -> None:
    text = (REPOSITORY / "docs/undertoe.1").read_text()
    sections = re.split(r"^\.SS undertoe ", text, flags=re.MULTILINE)[1:]
    assert [section.split("\n")[0] for section in sections] == list(VERBS)
    for section in sections:
        verb = section.split("\n")[0]
        assert re.search(rf"^ +undertoe {verb}\b", section, re.MULTILINE), f"{verb} has no example"


@pytest.mark.skipif(shutil.which("man") is None, reason="no man on this machine")
def test_the_manual_formats_without_a_warning() -> None:
    command = ["man", "--warnings", "-l", str(REPOSITORY / "docs/undertoe.1")]
    plain = {"PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"}
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False, env=plain)
    assert done.stderr == ""
    assert "EXIT STATUS" in done.stdout


def completed(*words: str) -> list[str]:
    program = (
        f'. {REPOSITORY}/install/undertoe.bash; undertoe() {{ python3 -c "print(\'--png --json -h\')"; }}; '
        f'COMP_WORDS=({" ".join(words)}); COMP_CWORD={len(words) - 1}; _undertoe; printf "%s\\n" "${{COMPREPLY[@]}}"'
    )
    done = subprocess.run(["bash", "-c", program], capture_output=True, text=True, timeout=60, check=True)
    return done.stdout.split()


def test_the_shell_completes_verbs_and_options() -> None:
    assert completed("undertoe", "d") == ["demo", "doctor"]
    assert completed("undertoe", "demo", "--p") == ["--png"]
    assert set(completed("undertoe", "''")) >= set(VERBS)
