"""One wish carried out in a thread of its own: devices may take their time, or hang."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import assert_never

import numpy as np
from numpy.typing import NDArray

from pedal.chain import Chain
from pedal.errors import UndertoeError
from pedal.live.set_up.cable_run import run_cable
from pedal.live.set_up.devices import Devices
from pedal.notes.event import End, Onset
from pedal.pitch.reading import Reading
from pedal.ports import AudioSink, AudioSource
from pedal.setup.choice import InputChoice
from pedal.setup.event import (
    CableHeard,
    InputsFound,
    ListenedTo,
    OutputsFound,
    PanelsFound,
    Played,
    Quiet,
    SetUpEvent,
    Sounded,
    Trouble,
)
from pedal.setup.wish import (
    FindInputs,
    FindOutputs,
    FindPanels,
    HearLoudness,
    HearQuiet,
    HearString,
    ListenTo,
    MeasureCable,
    Nothing,
    PlayTone,
    TryPanel,
    Wish,
)
from pedal.soundcheck.cable_words import cable_remarks
from pedal.soundcheck.levels import loudness
from pedal.soundcheck.noise import measure_noise
from pedal.soundcheck.string_heard import string_heard
from pedal.verdicts.aim import Aim

LISTEN_S, PIECE_S, QUIET_S = 2.0, 0.5, 4.0
SETTLE_S = 0.3
"""The first moments of a stream hold a click of many converters."""
TONE_HZ, FADE_S = 220.0, 0.5
STOP_S = 2.0
_OURS = "a fault of the program's own: leave this step, and send faults.txt from the state folder"


class Work:
    """`tell(event)` is called from the thread; after `stop` it is not called any more.

    Whatever it fails over is told as `Trouble`; a fault of ours is handed to `failed` as well.
    """

    def __init__(
        self,
        wish: Wish,
        devices: Devices,
        aim: Aim,
        tell: Callable[[SetUpEvent], None],
        failed: Callable[[Exception], None],
    ) -> None:
        self._wish, self._devices, self._aim, self._tell, self._failed = wish, devices, aim, tell, failed
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=f"set-up {type(wish).__name__}", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End it; a thread that hangs in a driver is left behind and heard no more."""
        self._stop.set()
        self._thread.join(STOP_S)

    def _run(self) -> None:
        try:
            for event in self._events():
                if self._stop.is_set():
                    return
                self._tell(event)
        except UndertoeError as fault:
            self._tell_trouble(str(fault))
        except Exception as fault:  # noqa: BLE001 - a wish that nobody answers would leave its page standing for ever
            self._tell_trouble(_OURS)
            self._failed(fault)

    def _tell_trouble(self, sentence: str) -> None:
        if not self._stop.is_set():
            self._tell(Trouble(sentence))

    def _events(self) -> Iterator[SetUpEvent]:
        wish, devices = self._wish, self._devices
        match wish:
            case FindPanels():
                yield PanelsFound(devices.places())
            case FindInputs():
                yield InputsFound(devices.inputs())
            case FindOutputs():
                yield OutputsFound(devices.outputs())
            case ListenTo(device=device):
                rate_hz, sound = devices.record(device, LISTEN_S)
                heard = tuple(string_heard(np.ascontiguousarray(channel), rate_hz) for channel in sound.T)
                yield ListenedTo(device, heard)
            case HearLoudness(choice=choice):
                for rate_hz, piece in self._pieces(choice, PIECE_S):
                    yield Played(loudness(piece, rate_hz))
            case HearQuiet(choice=choice):
                yield from self._quiet(choice)
            case HearString(choice=choice):
                yield from self._string(choice)
            case PlayTone(output=output):
                yield from self._tone(devices.sink(output))
            case MeasureCable(choice=choice, output=output):
                source, sink = devices.source(choice), devices.cable_sink(output)
                run = run_cable(source, sink, peak_db=devices.cable_db, stopped=self._stop.is_set)
                if run is not None:
                    yield CableHeard(cable_remarks(run))
            case Nothing() | TryPanel():
                pass
            case _:
                assert_never(wish)

    def _blocks(self, source: AudioSource) -> Iterator[tuple[int, NDArray[np.float32], int]]:
        """(rate, samples, lost before them) until told to stop."""
        rate_hz = source.open().sample_rate
        try:
            while not self._stop.is_set():
                block = source.read()
                if block is None:
                    return
                yield rate_hz, block.samples, block.lost_samples
        finally:
            source.close()

    def _pieces(self, choice: InputChoice | None, seconds: float) -> Iterator[tuple[int, NDArray[np.float32]]]:
        """Pieces of so many seconds, the first moments left out."""
        kept: list[NDArray[np.float32]] = []
        count, skipped = 0, 0
        for rate_hz, samples, _ in self._blocks(self._devices.source(choice)):
            if skipped < SETTLE_S * rate_hz:
                skipped += len(samples)
                continue
            kept.append(samples)
            count += len(samples)
            if count >= seconds * rate_hz:
                yield rate_hz, np.concatenate(kept)
                kept, count = [], 0

    def _quiet(self, choice: InputChoice | None) -> Iterator[SetUpEvent]:
        for rate_hz, piece in self._pieces(choice, QUIET_S):
            played = string_heard(piece, rate_hz).heard
            yield Quiet(measure_noise(piece, rate_hz), loudness(piece, rate_hz), played)
            return

    def _string(self, choice: InputChoice | None) -> Iterator[SetUpEvent]:
        chain: Chain | None = None
        for rate_hz, samples, lost in self._blocks(self._devices.source(choice)):
            chain = chain or Chain(rate_hz, self._aim)
            for heard in chain.push(samples, lost_samples=lost):
                if isinstance(heard, Reading | Onset | End):
                    yield Sounded(heard)

    def _tone(self, output: AudioSink) -> Iterator[SetUpEvent]:
        """At another rate than this the tone is higher or lower, which nobody minds."""
        played, rate_hz = 0, 48_000

        def render(count: int) -> NDArray[np.float32]:
            nonlocal played
            t = (played + np.arange(count)) / rate_hz
            played += count
            fade = np.minimum(1.0, t / FADE_S)
            return (10 ** (self._devices.tone_db / 20) * fade * np.sin(2 * np.pi * TONE_HZ * t)).astype(np.float32)

        output.open(render)
        try:
            self._stop.wait()
        finally:
            output.close()
        yield from ()
