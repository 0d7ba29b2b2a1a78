"""A drone on an output of its own, whose sound server is killed and starts again while the guitar's goes on."""

from __future__ import annotations

import signal
import time
from pathlib import Path

import pytest

from tests.sound_server.pedal_process import PedalProcess, until
from tests.sound_server.server import Recorder, SoundServer

pytestmark = pytest.mark.sound_server


def sounds(speaker: SoundServer) -> bool:
    """Whether anything came out of it within half a second."""
    with Recorder(speaker, "speaker") as heard:
        time.sleep(0.5)
    return bool(heard.samples.any())


def test_a_lost_output_is_told_and_sounds_again_when_it_is_back(server: SoundServer, tmp_path: Path) -> None:
    with SoundServer() as speaker:
        devices = tmp_path / "asound.conf"
        devices.write_text(
            Path(server.environment["ALSA_CONFIG_PATH"]).read_text()
            + f'pcm.far_out {{ type pulse server "{speaker.environment["PULSE_SERVER"]}" device "speaker" }}\n'
        )
        settings = tmp_path / "undertoe.yaml"
        settings.write_text("audio: {output: far_out}\n")
        words = ("--input", "guitar_in", "--headless", "--json", "--mode", "blind", "--config", str(settings))
        environment = {**server.environment, "ALSA_CONFIG_PATH": str(devices)}
        with PedalProcess(environment, tmp_path / "state", *words) as pedal:
            pedal.until_said("listening to")
            until(lambda: sounds(speaker), what="the drone")
            speaker.stop(signal.SIGKILL)
            pedal.until_said("the audio output has stopped: plug it in again")
            speaker.start()
            until(lambda: sounds(speaker), what="the drone, again")
            assert pedal.said.count("listening to") == 1
            assert pedal.stop()[0] == 0
            assert "Traceback" not in pedal.said
