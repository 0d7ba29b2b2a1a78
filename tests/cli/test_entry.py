"""The command line as a whole: verbs, statuses, and what is imported for which."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from pedal.cli.entry import VERBS, main

HEAVY = ("pyaudio", "gpiozero", "luma", "matplotlib", "scipy", "sqlite3", "soundfile", "PIL", "yaml")
MAY_IMPORT = {
    "map": set(),
    "read": {"soundfile"},
    "live": {"pyaudio", "sqlite3", "yaml"},
}


def test_help_names_every_verb(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    assert ended.value.code == 0
    said = capsys.readouterr().out
    assert all(f"\n    {verb} " in said for verb in VERBS)


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_explains_itself(capsys: pytest.CaptureFixture[str], verb: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main([verb, "--help"])
    assert ended.value.code == 0
    assert f"usage: undertoe {verb}" in capsys.readouterr().out


def test_the_version_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith("undertoe 0.")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ([], "the following arguments are required: VERB"),
        (["dance"], "invalid choice: 'dance'"),
        (["read"], "the following arguments are required: TAKE"),
        (["live", "--json"], "--json prints lines in place of the picture: give --headless as well"),
        (["live", "--display", "png"], "--display png and --png DIR belong together"),
        (["live", "--png", "shots"], "--display png and --png DIR belong together"),
        (["demo", "--json"], "--json prints lines"),
        (["demo", "--mode", "polka"], "invalid choice: 'polka'"),
        (["live", "--mode", "polka"], "invalid choice: 'polka'"),
        (["live", "--headless", "--key", "H"], "--key: 'H' is no key"),
    ],
)
def test_bad_usage_is_one_sentence_and_status_2(
    capsys: pytest.CaptureFixture[str], words: list[str], sentence: str
) -> None:
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("undertoe: ")
    assert sentence in said.err
    assert said.err.count("\n") == 1


@pytest.mark.parametrize("verb", MAY_IMPORT)
def test_a_verb_loads_no_library_it_does_not_need(verb: str) -> None:
    """The verb is parsed and its rooms are imported as far as they are before devices and files are opened."""
    rooms = {
        "map": "import pedal.cli.map as m",
        "read": "import pedal.chain, hw.sound_file; from pedal import wiring",
        "live": "import pedal.live.session, hw.portaudio_input; from pedal import wiring; wiring.settings(None)",
    }[verb]
    check = f"import sys; from pedal.cli.entry import _parser; _parser(['{verb}']); {rooms}; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", check], check=True, capture_output=True, text=True, timeout=60)
    loaded = {name.split(".")[0] for name in done.stdout.split()} & set(HEAVY)
    assert loaded <= MAY_IMPORT[verb], loaded - MAY_IMPORT[verb]


def test_interrupted_ends_with_130_and_says_nothing(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("pedal.cli.read.run", interrupted)
    assert main(["read", "take.wav"]) == 130
    assert capsys.readouterr() == ("", "")


LEFT_BEHIND = """
import sys, threading, time
from pathlib import Path
from pedal.cli import entry

def keep():
    time.sleep(0.2)
    Path(sys.argv[1]).write_text("kept")

entry.main = lambda: 3
threading.Thread(target=time.sleep, args=(600,), daemon=True).start()
threading.Thread(target=keep).start()
entry.program()
"""


def test_what_hangs_in_a_driver_is_left_behind_once_the_rest_is_kept(tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    ended = subprocess.run([sys.executable, "-c", LEFT_BEHIND, str(kept)], check=False, timeout=60)
    assert ended.returncode == 3
    assert kept.read_text() == "kept"


MUTE = """
import os
from pedal.cli import entry

def main():
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    print("undertoe: said all the same", file=entry.sys.stderr)
    return 1

entry.main = main
entry.program()
"""


def test_a_library_that_left_standard_error_mute_does_not_mute_the_pedal() -> None:
    ended = subprocess.run([sys.executable, "-c", MUTE], check=False, capture_output=True, text=True, timeout=60)
    assert (ended.returncode, ended.stderr) == (1, "undertoe: said all the same\n")
