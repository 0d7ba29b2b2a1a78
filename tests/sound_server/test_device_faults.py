"""What may happen to an interface under the foot of a player, done to a real stream: what is said, and what is kept."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from tests.sound_server.pedal_process import DEADLINE_S, PedalProcess, told_true
from tests.sound_server.server import SoundServer

pytestmark = pytest.mark.sound_server
WORDS = ("--input", "guitar_in", "--headless", "--json", "--no-drone")
STOPS_WITHIN_S = 1.0
TIMED = pytest.mark.parametrize("timed", [False, pytest.param(True, marks=pytest.mark.soak)], ids=["", "in time"])
"""A second of the clock is asked for where the machine is quiet."""


@TIMED
@pytest.mark.parametrize("fault", ["the interface is unplugged", "the server ends", "the server is killed"])
def test_a_lost_input_is_looked_for_until_it_is_back(
    server: SoundServer, bend: Path, state: Path, fault: str, timed: bool
) -> None:
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        first = told_true(pedal, lambda: server.plays_whole(bend))
        if fault == "the interface is unplugged":
            server.unplug()
        else:
            server.stop(signal.SIGTERM if fault == "the server ends" else signal.SIGKILL)
        pedal.until_said("plug it in again")
        if fault == "the interface is unplugged":
            server.plug_in()
        else:
            server.start()
        pedal.until_said("listening to", times=2)
        second = told_true(pedal, lambda: server.plays_whole(bend))
        assert second["onset_s"] > first["end_s"], "time ran backwards over the gap"
        status, took_s = pedal.stop()
        assert status == 0
        assert took_s < STOPS_WITHIN_S or not timed
        assert "Traceback" not in pedal.said


@TIMED
def test_it_stops_at_once_while_it_looks_for_its_input(server: SoundServer, state: Path, timed: bool) -> None:
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        server.unplug()
        try:
            pedal.until_said("plug it in again")
            status, took_s = pedal.stop()
        finally:
            server.plug_in()
        assert (status, took_s < STOPS_WITHIN_S or not timed) == (0, True)


def test_a_driver_that_hangs_for_a_while_is_told_and_outlived(server: SoundServer, bend: Path, state: Path) -> None:
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        server.freeze()
        try:
            pedal.until_said("stopped without a word")
        finally:
            server.thaw()
        told_true(pedal, lambda: server.plays_whole(bend))
        assert pedal.stop()[0] == 0


@TIMED
def test_it_stops_within_a_second_even_when_the_driver_hangs(server: SoundServer, state: Path, timed: bool) -> None:
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        server.freeze()
        try:
            pedal.until_said("stopped without a word")
            status, took_s = pedal.stop()
        finally:
            server.thaw()
        assert took_s < STOPS_WITHIN_S or not timed
        assert status == 0


def test_a_missing_input_ends_with_a_sentence_that_lists_what_is_there(server: SoundServer, state: Path) -> None:
    with PedalProcess(server.environment, state, "--input", "banjo", "--headless") as pedal:
        assert pedal.process.wait(DEADLINE_S) == 1
        assert pedal.said.startswith("undertoe: no audio input is called 'banjo': plug the interface in")
        assert "guitar_in" in pedal.said
        assert len(pedal.said.splitlines()) == 1


def test_an_input_that_is_not_there_yet_can_be_waited_for(server: SoundServer, state: Path) -> None:
    server.unplug()
    with PedalProcess(server.environment, state, *WORDS, "--wait") as pedal:
        try:
            pedal.until_said("plug it in again")
        finally:
            server.plug_in()
        pedal.until_said("listening to")
        assert pedal.stop()[0] == 0
