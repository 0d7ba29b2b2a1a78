"""A real sound server without a sound card: a private PulseAudio whose null sinks stand for a guitar and a speaker.

What is played into the sink "guitar" comes out of the ALSA device `guitar_in`; `speaker_out` plays into "speaker", and
`guitar_out` into the guitar's own sink: its sound comes back mixed with the guitar's, by one clock.
Traps that are stepped around here, each of them met on the bench:

- `norewinds=1`: an idle null sink renders two seconds ahead, and its monitor then gives a damaged copy.
- "speaker" is loaded first, so it is the default, and `rescue-streams = no`: else unloading "guitar" silently moves a
  running capture to another monitor in place of failing it.
- PortAudio ends the process if no ALSA device is called "default".
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import correlate

from tests.sound_server.pedal_process import DEADLINE_S, until

PROGRAMS = ("pulseaudio", "pactl", "paplay", "parec")
GAP = 48
"""Zeros, a millisecond of them: a drone goes through zero within three."""
PIECE, LOUD = 4800, 0.05
"""Samples that are compared at once, and what is louder by far than what comes back of a drone or a pulse."""


def missing_programs() -> list[str]:
    return [program for program in PROGRAMS if shutil.which(program) is None]


class SoundServer:
    """`with SoundServer() as server:` then `server.environment` for programs that shall hear and play."""

    def __init__(self, *, guitars: int = 1) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="undertoe-sound-"))
        self._socket = self._folder / "native"
        self._guitars = guitars
        self._daemon: subprocess.Popen[bytes] | None = None
        self.environment: Mapping[str, str] = {
            **os.environ,
            "PULSE_SERVER": f"unix:{self._socket}",
            "PULSE_RUNTIME_PATH": str(self._folder),
            "PULSE_STATE_PATH": str(self._folder),
            "PULSE_COOKIE": str(self._folder / "cookie"),
            "ALSA_CONFIG_PATH": str(self._folder / "asound.conf"),
        }

    def __enter__(self) -> SoundServer:
        self._folder.chmod(0o700)
        (self._folder / "asound.conf").write_text(self._devices())
        (self._folder / "daemon.conf").write_text("default-sample-rate = 48000\nrescue-streams = no\n")
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop(signal.SIGTERM)
        shutil.rmtree(self._folder, ignore_errors=True)

    @staticmethod
    def guitar(number: int = 1) -> str:
        """The name of a guitar's sink."""
        return "guitar" if number == 1 else f"guitar{number}"

    def start(self) -> None:
        """Start the daemon and wait until its sinks are there."""
        sinks = ["speaker", *(self.guitar(number) for number in range(1, self._guitars + 1))]
        modules = [f"module-native-protocol-unix socket={self._socket} auth-anonymous=1 auth-cookie-enabled=0"]
        modules += [
            f"module-null-sink sink_name={name} rate=48000 channels=1 format=s16le norewinds=1" for name in sinks
        ]
        loads = [word for module in modules for word in ("-L", module)]
        self._daemon = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1", "--realtime=no",
             "--high-priority=no", "--disable-shm=yes", "--log-level=error", *loads],
            env={**self.environment, "PULSE_CONFIG": str(self._folder / "daemon.conf")},
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip

        def ready() -> bool:
            assert self._daemon is not None and self._daemon.poll() is None, "the sound server ended at its start"
            return f"{sinks[-1]}.monitor" in self._pactl("list", "short", "sources", check=False)

        until(ready, what="the sound server")

    def stop(self, how: signal.Signals) -> None:
        """End the daemon."""
        if self._daemon is not None:
            self._daemon.send_signal(signal.SIGCONT)
            self._daemon.send_signal(how)
            self._daemon.wait(DEADLINE_S)
            self._daemon = None

    def freeze(self) -> None:
        """Let the daemon hang, as a driver may."""
        assert self._daemon is not None
        self._daemon.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        assert self._daemon is not None
        self._daemon.send_signal(signal.SIGCONT)

    def unplug(self, number: int = 1) -> None:
        """Take a guitar's interface away."""
        modules = self._pactl("list", "short", "modules").splitlines()
        wanted = f"sink_name={self.guitar(number)} "
        self._pactl("unload-module", next(line.split("\t")[0] for line in modules if wanted in line))

    def plug_in(self, number: int = 1) -> None:
        """Bring it back."""
        words = f"sink_name={self.guitar(number)} rate=48000 channels=1 format=s16le norewinds=1"
        self._pactl("load-module", "module-null-sink", *words.split())

    def let_speaker_into_guitar(self, gain_db: float, *, latency_ms: float = 30.0) -> None:
        """What the speaker plays comes back in the guitar's input, so much quieter (adjust_time=0: in pitch)."""
        words = ["source=speaker.monitor", "sink=guitar", f"latency_msec={latency_ms:.0f}", "adjust_time=0"]
        self._pactl("load-module", "module-loopback", *words)
        way_back = self._pactl("list", "short", "sink-inputs").splitlines()[-1].split("\t")[0]
        self._pactl("set-sink-input-volume", way_back, f"{gain_db:g}dB")

    def play(self, take: Path, *, number: int = 1) -> None:
        """Play a take on a guitar, to its end."""
        command = ["paplay", "-d", self.guitar(number), str(take)]
        subprocess.run(command, env=self.environment, check=True, timeout=DEADLINE_S, stdin=subprocess.DEVNULL)

    def plays_whole(self, take: Path, *, number: int = 1) -> bool:
        """Play a take that begins with silence on a guitar, to its end; whether it surely came whole."""
        with Recorder(self, self.guitar(number)) as guitar:
            self.play(take, number=number)
        return came_whole(take, guitar.samples)

    @contextlib.contextmanager
    def playing(self, take: Path, *, number: int = 1) -> Iterator[None]:
        """A take sounds on a guitar while the `with` lasts."""
        command = ["paplay", "-d", self.guitar(number), str(take)]
        player = subprocess.Popen(command, env=self.environment, stdin=subprocess.DEVNULL)
        try:
            yield
        finally:
            player.terminate()
            player.wait(DEADLINE_S)

    def _pactl(self, *words: str, check: bool = True) -> str:
        command = ["pactl", *words]
        done = subprocess.run(
            command, env=self.environment, capture_output=True, text=True, timeout=DEADLINE_S, check=check
        )
        return done.stdout

    def _devices(self) -> str:
        def device(name: str, target: str) -> str:
            return f'pcm.{name} {{ type pulse server "unix:{self._socket}" device "{target}" }}\n'

        lines = [device("speaker_out", "speaker")]
        for number in range(1, self._guitars + 1):
            lines.append(device(f"{self.guitar(number)}_in", f"{self.guitar(number)}.monitor"))
            lines.append(device(f"{self.guitar(number)}_out", self.guitar(number)))
        default = 'pcm.default { type asym capture.pcm "guitar_in" playback.pcm "speaker_out" }\n'
        return "".join([*lines, default])


class Recorder:
    """`samples` after the `with`: what came out of a sink, as 16 bits; whole, for the server keeps it for us."""

    samples: NDArray[np.int16]

    def __init__(self, server: SoundServer, sink: str) -> None:
        words = ["parec", "-d", f"{sink}.monitor", "--raw", "--format=s16le", "--rate=48000", "--channels=1"]
        self._process = subprocess.Popen(
            words, env=server.environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE
        )
        self._raw: list[bytes] = []
        self._reader = threading.Thread(target=lambda: self._raw.append(self._process.communicate()[0]))
        self._reader.start()

    def __enter__(self) -> Recorder:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.terminate()
        self._reader.join()
        self.samples = np.frombuffer(self._raw[0], "<i2")


def came_whole(take: Path, recorded: NDArray[np.int16]) -> bool:
    """Whether the guitar played the take, sample by sample: a player that is held up tears gaps into it."""
    samples, _ = soundfile.read(take, dtype="int16")
    return np.array_equal(np.trim_zeros(recorded), np.trim_zeros(samples))


def sounded_on(recorded: NDArray[np.int16]) -> bool:
    """Whether what has faded in went on: a sink that gets nothing in time plays zeros, and later what was due."""
    sounding = np.flatnonzero(recorded)
    return len(sounding) > 0 and int(np.diff(sounding[sounding > sounding[0] + PIECE]).max(initial=0)) < GAP


def came_whole_in_a_mixture(take: NDArray[np.float64], recorded: NDArray[np.float64]) -> bool:
    """The same beside what sounds more quietly: every tenth of a second that is loud enough lies where it belongs."""
    if len(recorded) < len(take):
        return False
    begins = int(np.argmax(np.abs(correlate(recorded, take, "valid", method="fft"))))
    off = recorded[begins : begins + len(take)] - take
    pieces = range(0, len(take) - PIECE, PIECE)
    loud = [at for at in pieces if np.mean(take[at : at + PIECE] ** 2) > LOUD**2]
    return all(np.mean(off[at : at + PIECE] ** 2) < np.mean(take[at : at + PIECE] ** 2) / 4 for at in loud)
