"""What the live pedal costs on this machine: `python -m bench.pedal` prints start-up, memory and processor share.

The real command listens to a private sound server in which a guitar plays, and draws on a panel whose bus leads
nowhere. Starts are medians with everything in the page cache.
"""

from __future__ import annotations

import argparse
import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import soundfile

from pedal.synth.drills import SCENES
from tests.sound_server.server import SoundServer, missing_programs

RATE = 48_000
TICKS = os.sysconf("SC_CLK_TCK")
# An I2C bus that takes every byte at once and shows none: drawing and packing cost, wires do not.
ON_A_DEAD_BUS = """
import sys, smbus2

class Wire:
    def __init__(self, *_): pass
    def __getattr__(self, _): return lambda *_, **__: None

smbus2.SMBus = Wire
from pedal.cli.entry import main
sys.exit(main(sys.argv[1:]))
"""


def main() -> int:
    """0, or 1 where there is no sound server to try on."""
    parser = argparse.ArgumentParser(prog="bench.pedal", description=__doc__)
    parser.add_argument("--seconds", type=float, default=30.0, help="of playing that are measured")
    parser.add_argument("--starts", type=int, default=5)
    asked = parser.parse_args()
    if missing := missing_programs():
        print(f"no sound server here: {', '.join(missing)} missing", file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as name, SoundServer() as server:
        folder = Path(name)
        take = _take(folder, asked.seconds + 15)
        settings = folder / "pedal.yaml"
        settings.write_text("display: {kind: ssd1306}\nswitches: {pins: []}\naudio: {input: guitar_in}\n")
        own = {"XDG_STATE_HOME": name, "XDG_CONFIG_HOME": name}
        environment = {**server.environment, **own, "OPENBLAS_NUM_THREADS": "1"}
        words = [sys.executable, "-c", ON_A_DEAD_BUS, "live", "--config", str(settings), "--no-drone"]
        _startup(words, environment, folder, asked.starts)
        _running(words, environment, folder, server, take, asked.seconds)
    return 0


def _startup(words: list[str], environment: Mapping[str, str], folder: Path, starts: int) -> None:
    bare = _each(starts, lambda: _ran([sys.executable, "-c", "pass"], environment))
    numpy = _each(starts, lambda: _ran([sys.executable, "-c", "import numpy"], environment))
    judged = _each(starts, lambda: _until_ready(words, environment, folder))
    print(f"python -c pass          {bare:6.3f} s")
    print(f"python -c import numpy  {numpy:6.3f} s")
    print(f"live, first block heard {judged:6.3f} s  ({judged / bare:.1f} x pass, {judged / numpy:.1f} x numpy)")


def _each(times: int, once) -> float:
    once()  # into the page cache
    return statistics.median(once() for _ in range(times))


def _ran(words: list[str], environment: Mapping[str, str]) -> float:
    begun_s = time.perf_counter()
    subprocess.run(words, env=environment, check=True)
    return time.perf_counter() - begun_s


def _until_ready(words: list[str], environment: Mapping[str, str], folder: Path) -> float:
    """From the start of the process to READY=1, which is sent as the first block is judged."""
    address = folder / f"notify-{time.monotonic_ns()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(address))
        manager.settimeout(30)
        begun_s = time.perf_counter()
        process = _start(words, {**environment, "NOTIFY_SOCKET": str(address)})
        try:
            while manager.recv(256) != b"READY=1":
                pass
            return time.perf_counter() - begun_s
        finally:
            _stop(process)


def _running(
    words: list[str], environment: Mapping[str, str], folder: Path, server: SoundServer, take: Path, seconds: float
) -> None:
    process = _start(words, environment)
    try:
        with server.playing(take):
            time.sleep(8)
            before, begun_s = _threads_s(process.pid), time.perf_counter()
            time.sleep(seconds)
            lasted_s, after = time.perf_counter() - begun_s, _threads_s(process.pid)
        status = Path(f"/proc/{process.pid}/status").read_text().split()
        resident, most = (int(status[status.index(word) + 1]) / 1000 for word in ("VmRSS:", "VmHWM:"))
        used = {name: 100 * (spent - before.get(name, 0.0)) / lasted_s for name, spent in after.items()}
        each = ", ".join(
            f"{name} {share:.1f}" for name, share in sorted(used.items(), key=lambda u: -u[1]) if share > 0
        )
        print(f"resident                {resident:6.1f} MB  (at most {most:.1f})")
        print(f"processor               {sum(used.values()):6.1f} % of a core over {lasted_s:.0f} s of playing: {each}")
    finally:
        _stop(process)


def _threads_s(pid: int) -> dict[str, float]:
    """Seconds of processor by thread; the sound server's client threads have names of their own."""
    spent: dict[str, float] = {}
    for task in Path(f"/proc/{pid}/task").iterdir():
        name, fields = (task / "comm").read_text().strip(), (task / "stat").read_text().rpartition(")")[2].split()
        spent[f"{name} {task.name}"] = (int(fields[11]) + int(fields[12])) / TICKS
    return spent


def _start(words: list[str], environment: Mapping[str, str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(words, env=environment, stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _stop(process: subprocess.Popen[bytes]) -> None:
    process.send_signal(signal.SIGTERM)
    process.wait(10)


def _take(folder: Path, seconds: float) -> Path:
    """The twelve bars of the demo, over and over."""
    once = SCENES["watch"]().samples(sample_rate=RATE, rng=np.random.default_rng(1))
    file = folder / "take.wav"
    soundfile.write(file, np.resize(once, round(seconds * RATE)), RATE, subtype="PCM_16")
    return file


if __name__ == "__main__":
    sys.exit(main())
