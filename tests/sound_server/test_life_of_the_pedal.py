"""The live pedal as a service runs it: new settings on SIGHUP, a memory over power cuts, and clean stops."""

from __future__ import annotations

import contextlib
import json
import signal
import socket
import sqlite3
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
        # On a busy machine the input may be opened anew before that as well: the old session ends with its own words.
        until(
            lambda: "listening to" in pedal.said.partition("at the end: ")[2],
            what=f"the new settings; it said {pedal.said!r}",
        )
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


def true_verdicts(state: Path, *, closed: bool = False) -> list[int]:
    """How many the log holds of each session that has any; beside a pedal that writes only once it has begun to."""
    log = state / "undertoe" / "log.sqlite"
    wal = log.with_name("log.sqlite-wal")
    if not closed and not (wal.exists() and wal.stat().st_size):
        return []
    sql = "SELECT count(*) FROM log WHERE verdict = 'true' GROUP BY session_counter ORDER BY session_counter"
    try:
        with contextlib.closing(sqlite3.connect(log)) as file:
            return [number for (number,) in file.execute(sql)]
    except sqlite3.OperationalError:  # it is being made
        return []


def test_verdicts_survive_a_power_cut(server: SoundServer, bend: Path, state: Path) -> None:
    """What was on the disk is there again, and the damaged memory of a torn write is passed over with a sentence."""
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        told_true(pedal, lambda: server.plays_whole(bend))
        until(lambda: true_verdicts(state), what=f"an entry in the log; it said {pedal.said!r}")
        (kept,) = true_verdicts(state)
        server.play(bend)  # this one may fall into the cut
        pedal.process.kill()
        pedal.process.wait()
    (state / "undertoe" / "remembered.json").write_text('{"given": {"mode"')
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("starting as new")
        pedal.until_said("listening to")
        told_true(pedal, lambda: server.plays_whole(bend))
        assert pedal.stop()[0] == 0
    before, after = true_verdicts(state, closed=True)
    assert before >= kept, "what was on the disk is gone"
    assert after >= 1


def test_the_manager_is_told_at_once_and_fed_by_what_is_heard(server: SoundServer, state: Path, tmp_path: Path) -> None:
    address = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(address))
        manager.settimeout(DEADLINE_S)
        # The kernel keeps ten words that nobody has read, and a full socket takes no more: so few a second.
        environment = {**server.environment, "NOTIFY_SOCKET": str(address), "WATCHDOG_USEC": "4000000"}
        with PedalProcess(environment, state, *WORDS) as pedal:
            assert manager.recv(256) == b"READY=1"
            told = [manager.recv(256)]
            assert told == [b"STATUS=looking for the audio input"]
            wanted = (b"WATCHDOG=1", b"STATUS=listening to guitar_in, channel 1, at 48000 Hz")
            # Sound may be heard, and some of it lost, before the loop gets to say what it listens to.
            while not all(any(word.startswith(each) for word in told) for each in wanted):
                told.append(manager.recv(256))
                assert len(told) < 100, told
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
        two.hear_out(1)  # a busy machine may have torn it on its way to this one alone
        both = next(filter(is_true_bend, two.lines), None) or told_true(two, lambda: server.plays_whole(bend))
        assert degrees(told) == degrees(both) == ("4", "5")
        assert one.stop()[0] == two.stop()[0] == 0
        assert "Traceback" not in one.said + two.said
