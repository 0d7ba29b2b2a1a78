"""The driver's long buffer against its usual one, both at one guitar at once: which of them hears a pluck first."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

import hw.portaudio_input
from hw.portaudio_input import PortAudioInput
from tests.sound_server.server import SoundServer

pytestmark = [pytest.mark.sound_server, pytest.mark.soak]
RATE, PLUCKS, EACH_S = 48_000, 60, 0.25
ONE_BURST_S = 0.011
"""Of the server: what starts a moment later may get its samples a burst later."""


def arrivals_s(source: PortAudioInput, stop: threading.Event) -> list[float]:
    heard, quiet_until_s = [], 0.0
    while not stop.is_set():
        block = source.read()
        now_s = time.monotonic()
        if np.abs(block.samples).max() > 0.2 and now_s >= quiet_until_s:
            heard.append(now_s)
            quiet_until_s = now_s + EACH_S / 2
    return heard


def test_a_pluck_is_heard_as_soon_with_room_as_without(
    server: SoundServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("PULSE_SERVER", "ALSA_CONFIG_PATH", "PULSE_COOKIE", "PULSE_RUNTIME_PATH"):
        monkeypatch.setenv(name, server.environment[name])
    plucks = np.zeros(round(RATE * EACH_S) * (PLUCKS + 2))
    plucks[round(RATE * EACH_S) :: round(RATE * EACH_S)] = 0.9
    soundfile.write(tmp_path / "plucks.wav", plucks, RATE)
    stop, heard, rooms_s = threading.Event(), {}, {}

    def listener(name: str, room_s: float) -> Callable[[], None]:
        source = PortAudioInput("guitar_in")
        monkeypatch.setattr(hw.portaudio_input, "ROOM_S", room_s)
        source.open()
        rooms_s[name] = source._opened.stream.get_input_latency()

        def listen() -> None:
            heard[name] = arrivals_s(source, stop)
            source.close()

        return listen

    threads = [threading.Thread(target=listener(name, room_s)) for name, room_s in (("roomy", 0.5), ("usual", 0.0))]
    for thread in threads:
        thread.start()
    server.play(tmp_path / "plucks.wav")
    stop.set()
    for thread in threads:
        thread.join()
    count = min(len(heard["roomy"]), len(heard["usual"]))
    later_s = np.array(heard["roomy"][-count:]) - np.array(heard["usual"][-count:])
    print(f"\nroom {rooms_s}, {count} plucks; with room later by {np.median(later_s) * 1e3:+.1f} ms")
    assert count >= PLUCKS
    assert rooms_s["roomy"] > 0.4 > rooms_s["usual"]
    assert np.median(later_s) < ONE_BURST_S
