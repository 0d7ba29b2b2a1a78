"""A guitar at an audio interface as blocks of samples: a blocking PortAudio stream, its overflows counted and sized."""

from __future__ import annotations

import contextlib
import itertools
import time
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyaudio
from numpy.typing import NDArray

from hw.portaudio_stream import device_names, find_device, nearest_rates, quiet, start_library
from hw.sample_clock import SampleClock
from pedal.app.errors import DeviceError
from pedal.app.ports import Block, StreamFacts

_FORMATS: dict[str, tuple[int, np.dtype[Any], float]] = {
    "float32": (pyaudio.paFloat32, np.dtype("<f4"), 1.0),
    "int16": (pyaudio.paInt16, np.dtype("<i2"), 1 / 32768),
}
_TRY_ANOTHER_WAY = {pyaudio.paInvalidSampleRate, pyaudio.paInvalidChannelCount, pyaudio.paSampleFormatNotSupported}

_MOST_SAMPLES = 1024
_LONGEST_NAP, _LOOKS_A_BLOCK = 2, 3
"""At most two blocks: drivers have room for three or four."""
_SILENT_S, _LEAST_BLOCKS = 0.5, 8
"""A device that gives nothing for so long is lost: a server's bursts come each 10 ms, a starved one's each 100."""


@dataclass(frozen=True, slots=True)
class _Opened:
    """A running stream and how to read it."""

    library: pyaudio.PyAudio
    stream: pyaudio.Stream
    rate: int
    channels: int
    dtype: np.dtype[Any]
    scale: float
    clock: SampleClock


class PortAudioInput:
    """One channel of a device.

    Every `open` starts PortAudio anew, so that a device that came back under another number is found.
    """

    def __init__(
        self,
        device: str | int | None,
        *,
        sample_rate: int = 48_000,
        block_samples: int = 128,
        channel: int = 1,
        sample_format: str = "float32",
    ) -> None:
        self._device, self._channel = device, channel
        self._rate, self._block_samples = sample_rate, block_samples
        self._formats = [sample_format, *(name for name in _FORMATS if name != sample_format)]
        self._opened: _Opened | None = None
        self._burst = block_samples
        self._there = 0
        """Samples that the driver holds, as far as is known without asking it again."""

    def open(self) -> StreamFacts:
        """Start the stream, at the nearest rate that the device takes; raises DeviceError."""
        self.close()
        library = start_library()
        try:
            facts = find_device(library, self._device, "input")
            rate, opened = self._start(library, facts)
        except BaseException:
            library.terminate()
            raise
        self._opened, self._there = opened, 0
        remark = "" if rate == self._rate else f"{facts['name']} does not take {self._rate} Hz: listening at {rate} Hz"
        names = device_names(library, "input")
        return StreamFacts(facts["name"], rate, self._block_samples, self._channel, remark, names)

    def read(self) -> Block:
        """The next block, waiting for it, and whole blocks that wait behind it; DeviceError when the device is gone.

        Drivers deliver in bursts: taken at once they cost half the processor time, and none of them comes later for it.
        """
        opened = self._opened
        if opened is None:
            raise DeviceError("the audio input is closed")
        lost = overflows = 0
        try:
            samples = self._wait(opened)
            try:
                raw = opened.stream.read(samples, exception_on_overflow=True)
            except OSError as fault:
                if pyaudio.paInputOverflowed not in fault.args:
                    raise
                # An overflow is no loss of the device: the block it took with it is gone, what follows is good.
                overflows = 1
                self._there = max(0, opened.stream.get_read_available())
                lost = opened.clock.lose(time.monotonic(), still_waiting=self._there, at_least=samples)
                samples = self._wait(opened)
                raw = opened.stream.read(samples, exception_on_overflow=False)
        except OSError as fault:
            raise DeviceError(f"the audio input stopped ({fault.args[-1]}): plug it in again") from fault
        opened.clock.deliver(time.monotonic(), samples)
        return Block(self._one_channel(raw, opened), lost, overflows)

    def _wait(self, opened: _Opened) -> int:
        """Samples that can be read at once, whole blocks of them; OSError if none come.

        PortAudio would wait as well, but for as long as it takes: after an overflow some drivers never deliver again,
        and a thread that is caught in there can only be got rid of with its process.
        """
        block = self._block_samples
        # The next burst is as far away as the last was long; after that, look more often.
        nap_s, napped_s = min(_LONGEST_NAP * block, self._burst) / opened.rate, 0.0
        silent_s = max(_SILENT_S, _LEAST_BLOCKS * block / opened.rate)
        while self._there < block:
            if napped_s >= silent_s:  # by the naps, not the clock: a process may be frozen
                raise OSError(pyaudio.paTimedOut, "no more sound comes")
            time.sleep(nap_s)
            napped_s += nap_s
            nap_s = block / opened.rate / _LOOKS_A_BLOCK
            there = opened.stream.get_read_available()
            if there < 0 and there != pyaudio.paInputOverflowed:
                raise OSError(there, "it is gone")
            self._there = self._burst = max(0, there)
        samples = min(_MOST_SAMPLES, self._there // block * block)
        self._there -= samples
        return samples

    def close(self) -> None:
        """Stop and let PortAudio go; safe to call twice."""
        opened, self._opened = self._opened, None
        if opened is not None:
            _shut(opened.library, opened.stream)

    def _start(self, library: pyaudio.PyAudio, facts: dict[str, Any]) -> tuple[int, _Opened]:
        """The first format and rate that the device opens with."""
        if facts["maxInputChannels"] < self._channel:
            count = facts["maxInputChannels"]
            raise DeviceError(f"{facts['name']} has no channel {self._channel}: set audio.channel to 1 to {count}")
        # Some drivers refuse to open fewer channels than they have.
        counts = dict.fromkeys((self._channel, max(2, self._channel), int(facts["maxInputChannels"])))
        rates = nearest_rates(self._rate, int(facts["defaultSampleRate"]))
        fault: OSError | None = None
        for rate, name, channels in itertools.product(rates, self._formats, counts):
            code, dtype, scale = _FORMATS[name]
            try:
                with quiet():
                    stream = library.open(
                        rate=rate,
                        channels=channels,
                        format=code,
                        input=True,
                        input_device_index=facts["index"],
                        frames_per_buffer=self._block_samples,
                    )
            except OSError as refused:
                fault = refused
                if not _TRY_ANOTHER_WAY.intersection(refused.args):
                    break
            else:
                return rate, _Opened(library, stream, rate, channels, dtype, scale, SampleClock(rate))
        raise DeviceError(_why_not(facts["name"], fault)) from fault

    def _one_channel(self, raw: bytes, opened: _Opened) -> NDArray[np.float32]:
        samples = np.frombuffer(raw, opened.dtype)[self._channel - 1 :: opened.channels]
        return samples.astype(np.float32) if opened.scale == 1.0 else samples * np.float32(opened.scale)


def _why_not(device: str, fault: OSError | None) -> str:
    if fault is not None and pyaudio.paDeviceUnavailable in fault.args:
        return f"{device} is busy: end the program that uses it, or choose another input"
    why = fault.args[-1] if fault else "no format fits"
    return f"{device} does not open ({why}): plug it in again, or choose another input"


def _shut(library: pyaudio.PyAudio, stream: pyaudio.Stream) -> None:
    for step in (stream.close, library.terminate):
        with contextlib.suppress(OSError), quiet():
            step()
