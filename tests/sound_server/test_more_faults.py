"""Another number after replugging, a second copy, a machine that is starved: done to the real command."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.live.true_bend import LEAD_S, RATE, TAIL_S
from tests.sound_server.pedal_process import DEADLINE_S, TRIES, PedalProcess, told_true, until
from tests.sound_server.server import SoundServer

pytestmark = pytest.mark.sound_server
STORMS = 3
WORDS = ("--input", "guitar_in", "--headless", "--json", "--no-drone")
QUOTA = Path("/sys/fs/cgroup/cpu")
"""Where a version 1 hierarchy has the share of a core that a group may use."""


def number_of(name: str, server: SoundServer) -> int:
    """The number under which a program that starts now finds a device."""
    program = "import json, pedal.wiring as w\nprint(json.dumps([d.name for d in w.sound_devices()]))"
    words = [sys.executable, "-c", program]
    names = subprocess.run(words, env=server.environment, capture_output=True, check=True, text=True).stdout
    return int(json.loads(names.splitlines()[-1]).index(name))


def test_an_interface_that_comes_back_under_another_number_is_found(
    server: SoundServer, bend: Path, state: Path
) -> None:
    devices = Path(server.environment["ALSA_CONFIG_PATH"])
    before = devices.read_text()
    number = number_of("guitar_in", server)
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        server.unplug()
        pedal.until_said("plug it in again")
        others = (f"pcm.{name} {{ type null hint {{ show on }} }}\n" for name in ("aa_other", "ab_other"))
        replace(devices, "".join(others) + before)
        try:
            server.plug_in()
            assert number_of("guitar_in", server) != number
            pedal.until_said("listening to guitar_in", times=2)
            told_true(pedal, lambda: server.plays_whole(bend))
            assert pedal.stop()[0] == 0
        finally:
            replace(devices, before)


def replace(file: Path, text: str) -> None:
    """In one step: PortAudio aborts the process if it looks while no PCM is called "default" in a half-written file."""
    aside = file.with_suffix(".new")
    aside.write_text(text)
    aside.replace(file)


def test_the_second_of_two_copies_ends_with_a_sentence(server: SoundServer, bend: Path, state: Path) -> None:
    with PedalProcess(server.environment, state, *WORDS) as first:
        first.until_said("listening to")
        with PedalProcess({**server.environment, "XDG_STATE_HOME": str(state)}, state / "second", *WORDS) as own_state:
            own_state.until_said("listening to")  # a state folder of its own: both may play
            assert own_state.stop()[0] == 0
        settings = state / "same.yaml"
        settings.write_text(f"state: {{folder: {state / 'undertoe'}}}\n")
        with PedalProcess(server.environment, state / "third", *WORDS, "--config", str(settings)) as second:
            assert second.process.wait(DEADLINE_S) == 1
            assert second.said.startswith(f"undertoe: the pedal is already running with {state / 'undertoe'} (process ")
            assert len(second.said.splitlines()) == 1
        told_true(first, lambda: server.plays_whole(bend))
        assert first.stop()[0] == 0
    with PedalProcess(server.environment, state, *WORDS) as next_one:
        next_one.until_said("listening to")
        assert next_one.stop()[0] == 0


def test_a_storm_of_overflows_swallows_sound_but_no_time(server: SoundServer, bend: Path, state: Path) -> None:
    """Frozen again and again, so that the driver really overflows: the bend after it is judged, at its true time.

    When a bend began is known by when it was asked for and when it was told, however busy the machine is between. What
    was swallowed is believed lost after two seconds only, and a busy machine swallows more at any moment: time that
    is missing once and for all is missing at every bend that follows. A server that is starved for more than those two
    seconds brings what was believed lost: then it is there twice, once and for all. That is not seen at each storm.
    """
    sounding_s = soundfile.info(bend).duration - LEAD_S - TAIL_S

    def played(pedal: PedalProcess) -> tuple[float, float, float]:
        """When a bend began, by the pedal; and at the earliest and at the latest, by the clock."""
        asked_s: list[float] = []

        def play() -> bool:
            asked_s.append(time.monotonic())
            return server.plays_whole(bend)

        onset_s = told_true(pedal, play)["onset_s"]
        return onset_s, asked_s[-1] + LEAD_S, time.monotonic() - sounding_s

    def as_far_apart(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
        apart_s, least_s, most_s = other[0] - one[0], other[1] - one[2], other[2] - one[1]
        print(f"\n8 overflows: {apart_s:.3f} s from bend to bend; by the clock {least_s:.3f} to {most_s:.3f}")
        return least_s - 0.1 < apart_s < most_s + 0.1

    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        for _ in range(STORMS):
            before = played(pedal)
            for _ in range(8):
                os.kill(pedal.process.pid, signal.SIGSTOP)
                time.sleep(0.4)
                os.kill(pedal.process.pid, signal.SIGCONT)
                time.sleep(0.05)
            if any(as_far_apart(before, played(pedal)) for _ in range(TRIES)):
                break
        else:
            raise AssertionError("the pedal's time stayed behind or ran ahead")
        assert pedal.stop()[0] == 0
        assert "Traceback" not in pedal.said


@pytest.fixture
def starve() -> Iterator[Callable[[int], None]]:
    """Gives a process a quarter of one core: by a control group where there is one that we may make."""
    group = QUOTA / f"undertoe-{os.getpid()}"
    try:
        group.mkdir()
        (group / "cpu.cfs_quota_us").write_text("25000")
        (group / "cpu.cfs_period_us").write_text("100000")
    except OSError as refused:
        pytest.skip(f"no control group for processor time here: {refused}")

    def put(pid: int) -> None:
        (group / "cgroup.procs").write_text(str(pid))

    yield put
    for pid in (group / "cgroup.procs").read_text().split():
        (QUOTA / "cgroup.procs").write_text(pid)
    group.rmdir()


@pytest.mark.soak
def test_a_quarter_of_a_core_is_enough_to_go_on(server: SoundServer, bend: Path, state: Path, starve) -> None:
    """25 ms of work in each 100: it stands still for 75, and what the device then drops is told as lost."""
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        starve(pedal.process.pid)  # at once: a thread in real time cannot be moved to such a group
        pedal.until_said("listening to")
        for _ in range(20):
            server.play(bend)
        until(lambda: len(pedal.lines) >= 15, what=f"verdicts; it said {pedal.said!r}")
        kinds = [(line["kind"], line["verdict"]) for line in pedal.lines]
        print(f"\na quarter of a core: {kinds.count(('bend', 'true'))} of 20 bends judged true, {len(kinds)} notes")
        status, took_s = pedal.stop()
        assert status == 0
        assert "Traceback" not in pedal.said
        assert kinds.count(("bend", "true")) >= 15
        print(f"stop took {took_s:.2f} s")


@pytest.mark.soak
def test_a_minute_of_a_wall_of_noise_from_the_device(server: SoundServer, bend: Path, state: Path) -> None:
    """A minute of real time at the rails through the real driver; the hours are in tests/soak."""
    noise = state.parent / "noise.wav"
    loud = np.random.default_rng(1).uniform(-1, 1, 60 * RATE)
    soundfile.write(noise, loud, RATE, subtype="PCM_16")
    with PedalProcess(server.environment, state, *WORDS) as pedal:
        pedal.until_said("listening to")
        server.play(noise)
        server.play(bend)
        until(lambda: pedal.lines and pedal.lines[-1]["kind"] == "bend", what=f"a bend; it said {pedal.said!r}")
        assert pedal.stop()[0] == 0
