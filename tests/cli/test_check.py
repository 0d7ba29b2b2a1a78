"""`undertoe check` through the real command: what it prints, where, and its status."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from pedal.cli.entry import main
from pedal.settings.load import load
from pedal.theory.neck import parse_tuning


@pytest.fixture(autouse=True)
def own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)


def check(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["check", *words])
    told = capsys.readouterr()
    return status, told.out, told.err


def written(tmp_path: Path, text: str) -> str:
    file = tmp_path / "pedal.yaml"
    file.write_text(text)
    return str(file)


def test_a_good_file_is_said_to_be_good_with_what_it_changes(tmp_path: Path, capsys) -> None:
    file = written(tmp_path, "key: A blues\ncapo: 2\n")
    assert check(capsys, file) == (
        0,
        f"{file}: good, and changes:\n  key: A blues (default G minor pentatonic)\n  capo: 2 (default 0)\n",
        "",
    )


@pytest.mark.parametrize(
    ("tuning", "capo", "strings"),
    [
        ("bass", 0, "string 3 open, string 4 up to fret 5"),
        ("bass", 2, "string 4 up to fret 5"),
        ("bass", 5, "string 4 open"),
        ("eight", 0, "string 8 up to fret 3"),
        ("A1 E2 A2 D3 G3 B3 E4", 0, "string 7 open"),
    ],
)
def test_strings_below_what_is_heard_are_told(tmp_path: Path, capsys, tuning: str, capo: int, strings: str) -> None:
    status, out, _ = check(capsys, written(tmp_path, _rigged(tuning, capo)))
    assert (status, out.splitlines()[-1]) == (0, f"  not heard, and so not judged: notes below Bb1 ({strings})")


@pytest.mark.parametrize(("tuning", "capo"), [("seven", 0), ("Bb1 E2 A2 D3 G3 B3 E4", 0), ("bass", 6), ("standard", 0)])
def test_where_all_is_heard_nothing_is_said_of_it(tmp_path: Path, capsys, tuning: str, capo: int) -> None:
    status, out, _ = check(capsys, written(tmp_path, _rigged(tuning, capo)))
    assert (status, "not heard" in out) == (0, False)


def _rigged(tuning: str, capo: int) -> str:
    gauges = ["0.010", "0.013", "0.017", "0.026", "0.036", "0.046", "0.059", "0.074"]
    if tuning == "bass":
        gauges = ["0.045", "0.065", "0.080", "0.100"]
    strings = parse_tuning(tuning).strings
    return f"tuning: {tuning}\ncapo: {capo}\nstrings: {{gauges_in: [{', '.join(gauges[:strings])}]}}\n"


def test_a_file_of_defaults_changes_nothing(tmp_path: Path, capsys) -> None:
    file = written(tmp_path, "capo: 0\n")
    assert check(capsys, file) == (0, f"{file}: good, and changes nothing\n", "")


def test_a_wrong_file_is_told_every_fault_on_stderr_with_status_2(tmp_path: Path, capsys) -> None:
    file = written(tmp_path, "cpao: 2\nbands:\n  true_cents: wide\n")
    status, out, err = check(capsys, file)
    assert (status, out) == (2, "")
    assert err.splitlines() == [
        f"undertoe: {file}:1: cpao: expected a known key (got 'cpao'), did you mean capo?",
        f"undertoe: {file}:3: bands.true_cents: expected a number from 0.5 to 50 cents (got 'wide')",
    ]


def test_a_missing_file_and_a_folder_have_status_2(tmp_path: Path, capsys) -> None:
    assert check(capsys, str(tmp_path / "no.yaml"))[0] == 2
    assert check(capsys, str(tmp_path))[0] == 2


def test_without_a_file_the_one_in_use_is_checked(tmp_path: Path, capsys) -> None:
    own = tmp_path / ".config/undertoe/undertoe.yaml"
    own.parent.mkdir(parents=True)
    own.write_text("capo: 3")
    assert check(capsys) == (0, f"{own}: good, and changes:\n  capo: 3 (default 0)\n", "")


def test_the_default_file_is_good(tmp_path: Path, capsys) -> None:
    status, text, _ = check(capsys, "--default")
    assert status == 0
    assert load(Path(written(tmp_path, text))) == load(None)
    assert isinstance(yaml.safe_load(text), dict)


def test_the_reference_is_printed(capsys) -> None:
    status, text, _ = check(capsys, "--reference")
    assert (status, text.splitlines()[0]) == (0, "# Settings")


@pytest.mark.parametrize("words", [["--default", "--reference"], ["a", "b"], ["--defualt"], ["--def"]])
def test_wrong_usage_has_status_2_and_one_sentence(words: list[str], capsys) -> None:
    status, out, err = check(capsys, *words)
    assert (status, out, len(err.splitlines())) == (2, "", 1)


def test_the_installed_command_says_the_same(tmp_path: Path) -> None:
    file = written(tmp_path, "capo: x")
    command = [sys.executable, "-m", "pedal.cli.entry", "check", file]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False, env=dict(os.environ))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == f"undertoe: {file}:1: capo: expected a whole number from 0 to 12 frets (got 'x')\n"
