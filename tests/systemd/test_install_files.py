"""What is installed: pinned by hash, from nowhere in particular, by scripts that a checker accepts; pages current."""

from __future__ import annotations

import os
import re
import runpy
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from pedal.cli.entry import VERBS

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


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_a_lock_says_truly_where_it_came_from(lock: Path) -> None:
    """The sources that it names are files of ours, and the script that it names writes its first line."""
    for named in re.findall(r"via -r (\S+)", lock.read_text()):
        assert not named.startswith("/") and (REPOSITORY / named).is_file(), named
    first = lock.read_text().splitlines()[0]
    assert first.startswith("# Made by `make lock`") and first in (REPOSITORY / "install/lock.sh").read_text()


def test_root_builds_no_library(tmp_path: Path) -> None:
    """Wheels only, but for those that have none (the pin library for the newer Python): the user nobody builds them."""
    script = (REPOSITORY / "install/install.sh").read_text()
    builder = script[script.index("build_as_nobody() {") : script.index("# A folder of its own")]
    as_root = script.replace(builder, "")
    fetched = [line for line in as_root.splitlines() if "--require-hashes" in line]
    assert len(fetched) == 5, "three from the index, two from a bundle"
    for line in fetched:
        assert "--only-binary :all:" in line, line
    assert len(re.findall(r"bin/pip\b", as_root)) == 1, "the one word that all of them begin with"
    assert "setpriv --reuid=nobody --regid=nogroup --clear-groups --no-new-privs" in builder
    assert re.findall(r"build_as_nobody (\w+)", as_root) == ["spidev", "lgpio", "pyaudio"]


@pytest.mark.parametrize(
    ("lock", "built", "version"),
    [("run.lock", "pyaudio", "0.2.14"), ("board.lock", "spidev", "3.8"), ("board.lock", "lgpio", "0.2.2.0")],
)
def test_the_library_that_is_built_is_cut_out_of_the_lock_with_its_hashes(lock: str, built: str, version: str) -> None:
    cutters = f". {REPOSITORY}/install/locks.sh"

    def cut(how: str) -> str:
        words = ["sh", "-euc", f'{cutters}\n{how} "$1" "$2"', "sh", built, REPOSITORY / "install" / lock]
        return subprocess.run(words, capture_output=True, text=True, check=True).stdout

    ours, others = cut("only"), cut("all_but")
    assert PINNED.findall(ours) == [(built, version)] and "--hash=sha256:" in ours
    assert f"{built}==" not in others
    locked = PINNED.findall((REPOSITORY / "install" / lock).read_text())
    assert sorted(PINNED.findall(ours) + PINNED.findall(others)) == sorted(locked)


@pytest.mark.parametrize(("pip", "status"), [("true", 0), ("false", 1)])
def test_a_library_that_cannot_be_built_is_said_even_where_it_may_be_missing(
    tmp_path: Path, pip: str, status: int
) -> None:
    """A function that is asked with `||` goes on after a failure, whatever `set -e` says."""
    script = (REPOSITORY / "install/install.sh").read_text()
    body = script[script.index("# A library that has no wheel") : script.index("# A folder of its own")]
    (tmp_path / "setpriv").write_text(f"#!/bin/sh\nexec {pip}\n")
    (tmp_path / "chown").write_text("#!/bin/sh\n")
    for program in ("setpriv", "chown"):
        (tmp_path / program).chmod(0o755)
    lines = (
        f"here={REPOSITORY}/install new=/nowhere pip=true\n. $here/locks.sh\n{body}\n"
        "build_as_nobody spidev $here/board.lock || exit 1"
    )
    done = subprocess.run(
        ["sh", "-euc", lines],
        env={"PATH": f"{tmp_path}:{os.environ['PATH']}", "TMPDIR": str(tmp_path)},
        capture_output=True,
        check=False,
    )
    assert done.returncode == status, done.stderr
    assert [path.name for path in tmp_path.iterdir() if path.is_dir()] == [], "what was fetched is removed"


@pytest.mark.parametrize("how", ["word", "environment"])
@pytest.mark.parametrize(
    ("value", "passed"),
    [("1", "1"), ("", ""), ("1 /bin/evil", ""), ("$(shell touch made)", ""), ("1; touch made", ""), ("'", "")],
)
def test_purge_runs_nothing(tmp_path: Path, value: str, passed: str, how: str) -> None:
    """SUDO is a program here that says what it was given."""
    seen = tmp_path / "seen"
    seen.write_text("#!/bin/sh\nprintf '%s\\n' \"$@\"\n")
    seen.chmod(0o755)
    word = [f"PURGE={value}"] if how == "word" else []
    done = subprocess.run(
        ["make", "-s", "-f", REPOSITORY / "Makefile", "uninstall", f"SUDO={seen}", *word],
        cwd=tmp_path, capture_output=True, text=True, check=True, timeout=60,
        env={"PATH": os.environ["PATH"], **({"PURGE": value} if how == "environment" else {})},
    )  # fmt: skip
    assert done.stdout.splitlines() == ["env", f"PURGE={passed}", "sh", "install/uninstall.sh"]
    assert not (tmp_path / "made").exists()


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
    for script in ("install", "uninstall", "rollback"):
        done = subprocess.run(
            ["sh", REPOSITORY / f"install/{script}.sh"], capture_output=True, text=True, timeout=60, check=False,
            env={"PATH": f"{tmp_path}:/usr/bin:/bin"},
        )  # fmt: skip
        assert (done.returncode, done.stdout) == (1, "")
        assert f"needs root: sudo make {script}" in done.stderr


@pytest.fixture
def root_here(tmp_path: Path) -> Path:
    """A machine in a folder, with a program that says that we are root."""
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/id").write_text("#!/bin/sh\necho 0\n")
    (tmp_path / "bin/id").chmod(0o755)
    return tmp_path


def release(root: Path, name: str) -> Path:
    program = root / "opt/undertoe" / name / "bin/undertoe"
    program.parent.mkdir(parents=True)
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    return program.parent.parent


def roll_back(root: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", REPOSITORY / "install/rollback.sh"], capture_output=True, text=True, timeout=60, check=False,
        env={"PATH": f"{root / 'bin'}:/usr/bin:/bin", "DESTDIR": str(root)},
    )  # fmt: skip


def test_the_way_back_leads_to_the_release_before_and_back_again(root_here: Path) -> None:
    old, new = release(root_here, "aaaa"), release(root_here, "bbbb")
    current, previous = root_here / "opt/undertoe/current", root_here / "opt/undertoe/previous"
    current.symlink_to(new)
    previous.symlink_to(old)
    assert roll_back(root_here).returncode == 0
    assert (current.readlink(), previous.readlink()) == (old, new)
    assert roll_back(root_here).returncode == 0
    assert (current.readlink(), previous.readlink()) == (new, old)


AGAIN = {
    "python3": 'echo "python3 $*" >>{root}/asked; [ "$1" = -V ]',
    "uname": "echo aarch64",
    "apt-cache": "false",
    "apt-get": "true",
}


def install_again(root: Path, *, starts: bool, lacks: str = "nothing") -> tuple[str, list[str]]:
    """`add_program` where the same sources were installed before: what it says, and what it asks of other programs."""
    for name, text in AGAIN.items():
        (root / "bin" / name).write_text(f"#!/bin/sh\n{text.format(root=root)}\n")
    installed = root / "opt/the-same"
    (installed / "bin").mkdir(parents=True)
    (root / "opt/current").symlink_to(installed)
    for name, text in {
        "undertoe": "true" if starts else "false",
        "python3": f"case $* in *\"'{lacks}'\"*) exit 1 ;; esac",
        "pip": f'echo "pip $*" >>{root}/asked',
    }.items():
        (installed / "bin" / name).write_text(f"#!/bin/sh\n{text}\n")
    for program in (*(root / "bin").iterdir(), *(installed / "bin").iterdir()):
        program.chmod(0o755)
    script = (REPOSITORY / "install/install.sh").read_text()
    functions = script[: script.index("\nadd_packages\n")].replace("home=/opt/undertoe", f"home={root}/opt")
    (root / "install.sh").write_text(f"{functions}\nfingerprint() {{ echo the-same; }}\nadd_program\n")
    for name in ("locks.sh", "kept.sh", "board.lock"):
        shutil.copy(REPOSITORY / "install" / name, root / name)
    done = subprocess.run(
        ["sh", root / "install.sh"], capture_output=True, text=True, timeout=60, check=False,
        env={"PATH": f"{root / 'bin'}:/usr/bin:/bin", "TMPDIR": str(root)},
    )  # fmt: skip
    return done.stdout, (root / "asked").read_text().splitlines() if (root / "asked").exists() else []


def test_installing_again_changes_nothing_where_all_is_there(root_here: Path) -> None:
    assert install_again(root_here, starts=True) == ("undertoe: the program is up to date\n", [])


def test_installing_again_mends_a_program_that_does_not_start(root_here: Path) -> None:
    """The fault: "up to date" was all that it said of a library that an ageing card had lost a part of."""
    said, asked = install_again(root_here, starts=False)
    assert "up to date" not in said
    assert asked[0].startswith("python3 -m venv") and asked[0].endswith("/opt/the-same")


@pytest.mark.parametrize("lacks", ["lgpio", "spidev"])
def test_installing_again_brings_the_pin_library_that_did_not_come(root_here: Path, lacks: str) -> None:
    """The fault: doctor and docs say "make install again, which brings lgpio", and it brought nothing."""
    said, asked = install_again(root_here, starts=True, lacks=lacks)
    assert said.startswith("undertoe: the program is up to date\n")
    assert any("pins.lock" in line for line in asked)


def test_there_is_no_way_back_where_nothing_was_before(root_here: Path) -> None:
    new = release(root_here, "bbbb")
    (root_here / "opt/undertoe/current").symlink_to(new)
    done = roll_back(root_here)
    assert (done.returncode, done.stdout) == (1, "")
    assert "there is no release before this one" in done.stderr
    (root_here / "opt/undertoe/previous").symlink_to(root_here / "opt/undertoe/gone")
    assert "is gone" in roll_back(root_here).stderr
    assert (root_here / "opt/undertoe/current").readlink() == new


def gate() -> str:
    """The Python that a new release must run before it is taken."""
    script = (REPOSITORY / "install/install.sh").read_text()
    return re.search(r'-c "\n(.*?)\n"\)', script, re.DOTALL)[1]


def test_a_release_is_taken_only_when_its_compiled_libraries_load() -> None:
    assert {"numpy", "pyaudio", "hw.portaudio_input", "hw.luma_screen", "hw.gpio_switches"} <= set(
        re.findall(r"[\w.]+", gate())
    )
    assert subprocess.run([sys.executable, "-c", gate()], timeout=120, check=False, cwd=REPOSITORY).returncode == 0


@pytest.mark.parametrize("missing", ["pyaudio", "numpy"])
def test_a_release_without_a_library_is_not_taken(tmp_path: Path, missing: str) -> None:
    (tmp_path / f"{missing}.py").write_text("raise ImportError('libportaudio.so.2: cannot open shared object file')\n")
    done = subprocess.run(
        [sys.executable, "-c", gate()], timeout=120, check=False, cwd=REPOSITORY, capture_output=True,
        env={"PYTHONPATH": f"{tmp_path}:{REPOSITORY}"},
    )  # fmt: skip
    assert done.returncode != 0


def test_settings_with_a_slip_are_kept_and_what_the_pedal_does_with_them_is_said(root_here: Path) -> None:
    """The fault: "the service will not start"; it starts, shows the slip, and takes the corrected file up by itself."""
    program = release(root_here, "aaaa") / "bin/undertoe"
    program.write_text("#!/bin/sh\nexit 2\n")
    (root_here / "opt/undertoe/current").symlink_to(program.parent.parent)
    (root_here / "undertoe.yaml").write_text("capo: high\n")
    script = (REPOSITORY / "install/install.sh").read_text()
    function = re.search(r"^add_settings\(\) \{\n.*?^\}\n", script, re.DOTALL | re.MULTILINE)[0]
    lines = (
        f'say() {{ echo "$*"; }}\ninstall() {{ :; }}\nhome={root_here}/opt/undertoe config={root_here}/undertoe.yaml\n'
    )
    done = subprocess.run(["sh", "-euc", f"{lines}{function}add_settings"], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == [
        f"settings: {root_here}/undertoe.yaml is kept",
        "settings: there is a fault in it: the panel shows it, and the pedal plays as soon as the file is corrected",
    ]
    assert (root_here / "undertoe.yaml").read_text() == "capo: high\n"


def test_the_governor_s_unit_writes_every_policy_there_is(tmp_path: Path) -> None:
    """cpufreq's own files: Documentation/admin-guide/pm/cpufreq.rst."""
    for number in (0, 4):
        policy = tmp_path / f"sys/devices/system/cpu/cpufreq/policy{number}"
        policy.mkdir(parents=True)
        (policy / "scaling_governor").write_text("ondemand\n")
    unit = (REPOSITORY / "systemd/undertoe-governor.service").read_text()
    command = re.search(r"^ExecStart=/bin/sh -c '(.*)'$", unit, re.MULTILINE)[1].replace("/sys/", f"{tmp_path}/sys/")
    subprocess.run(["/bin/sh", "-c", command], check=True, timeout=60)
    told = [file.read_text() for file in tmp_path.rglob("scaling_governor")]
    assert told == ["performance\n"] * 2


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
        f". {REPOSITORY}/install/undertoe.bash; undertoe() {{ python3 -c \"print('--png --json -h')\"; }}; "
        f'COMP_WORDS=({" ".join(words)}); COMP_CWORD={len(words) - 1}; _undertoe; printf "%s\\n" "${{COMPREPLY[@]}}"'
    )
    done = subprocess.run(["bash", "-c", program], capture_output=True, text=True, timeout=60, check=True)
    return done.stdout.split()


def test_the_shell_completes_verbs_and_options() -> None:
    assert completed("undertoe", "d") == ["demo", "doctor"]
    assert completed("undertoe", "demo", "--p") == ["--png"]
    assert set(completed("undertoe", "''")) >= set(VERBS)
