"""The live pedal as a service runs it: new settings on SIGHUP, a memory over power cuts, and clean stops."""

from __future__ import annotations

import json
import signal
import socket
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.sound_server.pedal_process import DEADLINE_S, PedalProcess, is_true_bend, told_true, until
from tests.sound_server.server import SoundServer

pytestmark = pytest.mark.sound_server
WORDS = ("--input", "guitar_in", "--headless", "--json")


def degrees(line: dict[str, Any]) -> tuple[str, str]:
    """C4 bent to D4: from the fourth of G to its fifth, or from the first of C to its second."""
    return line["degree"], line["target_degree"]


def test_new_settings_are_taken_up_and_broken_ones_are_not(server: SoundServer, bend: Path, state: Path) -> None:
    state.mkdir()
    settings = state / "pedal.yaml"
    settings.write_text("key: G minor pentatonic\n")
    with PedalProcess(server.environment, state, *WORDS, "--config", str(settings)) as pedal:
        pedal.until_said("listening to")
        settings.write_text("key: G minor pentatonic\na4_hz: lots\nkapo: 2\n")
        pedal.process.send_signal(signal.SIGHUP)
        pedal.until_said(f"{settings}:2: a4_hz: expected a number from 400 to 480 Hz")
        pedal.until_said("did you mean capo?")
        assert degrees(told_true(pedal, lambda: server.plays_whole(bend))) == ("4", "5")
        settings.write_text("key: C major\n")
        pedal.process.send_signal(signal.SIGHUP)
        pedal.until_said("listening to", times=2)
        assert degrees(told_true(pedal, lambda: server.plays_whole(bend))) == ("1", "2")
        assert pedal.stop()[0] == 0


def remembered(state: Path) -> Mapping[str, object]:
    words: Mapping[str, object] = json.loads((state / "undertoe" / "remembered.json").read_text())["memory"]
    return words


def test_it_comes_back_in_the_mode_it_was_in(server: SoundServer, state: Path) -> None:
    with PedalProcess(server.environment, state, *WORDS, "--mode", "curl") as pedal:
        pedal.until_said("listening to")
        assert pedal.stop()[0] == 0
    assert remembered(state)["mode"] == "curl"
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        assert pedal.stop()[0] == 0
    assert remembered(state)["mode"] == "curl"


def test_verdicts_survive_a_power_cut(server: SoundServer, bend: Path, state: Path) -> None:
    """What was on the disk is there again, and the damaged memory of a torn write is passed over with a sentence."""
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        told_true(pedal, lambda: server.plays_whole(bend))
        log = state / "undertoe" / "log.sqlite"
        until(
            lambda: log.exists() and (log.stat().st_size or (state / "undertoe" / "log.sqlite-wal").exists()),
            what="log",
        )
        server.play(bend)  # two seconds: longer than any batch waits
        pedal.process.kill()
        pedal.process.wait()
    (state / "undertoe" / "remembered.json").write_text('{"given": {"mode"')
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("starting as new")
        pedal.until_said("listening to")
        told_true(pedal, lambda: server.plays_whole(bend))
        assert pedal.stop()[0] == 0
    import sqlite3

    kept = sqlite3.connect(log)
    assert kept.execute("SELECT count(*) FROM log WHERE verdict = 'true'").fetchone()[0] >= 2
    kept.close()


def test_the_manager_is_told_at_once_and_fed_by_what_is_heard(server: SoundServer, state: Path, tmp_path: Path) -> None:
    address = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(address))
        manager.settimeout(DEADLINE_S)
        environment = {**server.environment, "NOTIFY_SOCKET": str(address), "WATCHDOG_USEC": "1000000"}
        with PedalProcess(environment, state, *WORDS) as pedal:
            assert manager.recv(256) == b"READY=1"
            told = [manager.recv(256)]
            assert told == [b"STATUS=looking for the audio input"]
            wanted = {b"WATCHDOG=1", b"STATUS=listening to guitar_in, channel 1, at 48000 Hz"}
            while not wanted <= set(told):  # sound may be heard before the loop gets to say what it listens to
                told.append(manager.recv(256))
            assert pedal.stop()[0] == 0
        told = b""
        while told != b"STOPPING=1":
            told = manager.recv(256)


def test_a_log_that_cannot_be_written_stops_nothing(server: SoundServer, bend: Path, state: Path) -> None:
    state.mkdir()
    (state / "undertoe").write_text("a file where the folder should be")
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        assert degrees(told_true(pedal, lambda: server.plays_whole(bend))) == ("4", "5")
        pedal.until_said("log")
        assert pedal.stop()[0] == 0
        assert "Traceback" not in pedal.said


def test_two_at_once_share_the_log(server: SoundServer, bend: Path, state: Path) -> None:
    with (
        PedalProcess(server.environment, state, *WORDS) as one,
        PedalProcess(
            server.environment, state / "other", *WORDS, "--log", str(state / "undertoe" / "log.sqlite")
        ) as two,
    ):
        one.until_said("listening to")
        two.until_said("listening to")
        told = told_true(one, lambda: server.plays_whole(bend))
        until(lambda: two.lines, what=f"a verdict; it said {two.said!r}")
        both = next(filter(is_true_bend, two.lines), None) or told_true(two, lambda: server.plays_whole(bend))
        assert degrees(told) == degrees(both) == ("4", "5")
        assert one.stop()[0] == two.stop()[0] == 0
        assert "Traceback" not in one.said + two.said
