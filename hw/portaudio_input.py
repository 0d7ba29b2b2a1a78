"""A guitar at an audio interface as blocks of samples: a blocking PortAudio stream, what it loses told by the clock.

PyAudio 0.2.14 closes a stream whenever it raises, so it is never asked to raise on an overflow: see `hw.sample_clock`.
"""

from __future__ import annotations

import functools
import itertools
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyaudio
from numpy.typing import NDArray

from hw.driver_room import ROOM_S, kernel_status, period_samples, room, stream_began
from hw.portaudio_stream import device_names, find_device, nearest_rates, quiet, shut, start_library
from hw.sample_clock import SUSPICIOUS_AT_A_SERVER_S, SUSPICIOUS_S, SampleClock
from pedal.errors import DeviceError
from pedal.ports import Block, StreamFacts

_FORMATS: tuple[tuple[int, np.dtype[Any], float], ...] = (
    (pyaudio.paFloat32, np.dtype("<f4"), 1.0),
    (pyaudio.paInt16, np.dtype("<i2"), 1 / 32768),
)
"""PortAudio's number, what lies in the bytes, what makes 1 of full scale; where one is refused the next is tried."""
_TRY_ANOTHER_WAY = {pyaudio.paInvalidSampleRate, pyaudio.paInvalidChannelCount, pyaudio.paSampleFormatNotSupported}
_NOT_FOR_ROOM = _TRY_ANOTHER_WAY | {pyaudio.paDeviceUnavailable}

_MOST_SAMPLES = 1024
_LONGEST_NAP, _LOOKS_A_BLOCK = 2, 3
"""At most two blocks: a driver that takes no longer buffer than its usual one has room for three or four."""
BELIEVED_AFTER_S = 2.0
"""So long a suspicion must stand where the kernel does not say that the stream began anew."""
_SILENT_S, _LEAST_BLOCKS = 0.5, 8
"""A device that gives nothing for so long is lost: a server's bursts come each 10 ms, a starved one's each 100."""


@dataclass(slots=True)
class _Opened:
    """A running stream and how to read it."""

    library: pyaudio.PyAudio
    stream: pyaudio.Stream
    rate: int
    channels: int
    dtype: np.dtype[Any]
    scale: float
    clock: SampleClock
    began: Callable[[], str]
    """When the kernel started the stream, in its own words: an overflow starts it anew. "" where it does not say."""
    began_at: str


class PortAudioInput:
    """One channel of a device.

    sample_rate : asked for, hertz; `open` says which one it became.
    block_samples : of one block; what is read is one block or several whole ones.
    channel : from 1.

    Every `open` starts PortAudio anew, so that a device that came back under another number is found.
    """

    def __init__(
        self,
        device: str | int | None,
        *,
        sample_rate: int = 48_000,
        block_samples: int = 128,
        channel: int = 1,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._device, self._channel = device, channel
        self._rate, self._block_samples, self._clock = sample_rate, block_samples, clock
        self._opened: _Opened | None = None
        self._burst = block_samples
        self._there = 0
        """Samples that the driver holds, as far as is known without asking it again."""
        self._doubts_from_s: float | None = None

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
        self._opened, self._there, self._doubts_from_s = opened, 0, None
        remark = "" if rate == self._rate else f"{facts['name']} does not take {self._rate} Hz: listening at {rate} Hz"
        names = device_names(library, "input")
        return StreamFacts(facts["name"], rate, self._block_samples, self._channel, remark, names)

    def read(self) -> Block:
        """The next block, waiting for it, and whole blocks that wait behind it; raises DeviceError, the device gone.

        Drivers deliver in bursts: taken at once they cost half the processor time, and none of them comes later for it.
        """
        opened = self._opened
        if opened is None:
            raise DeviceError("the audio input is closed")
        try:
            samples, lost = self._wait(opened)
            raw = opened.stream.read(samples, exception_on_overflow=False)
        except OSError as fault:
            raise DeviceError(f"the audio input stopped ({fault.args[-1]}): plug it in again") from fault
        opened.clock.deliver(samples)
        return Block(self._one_channel(raw, opened), lost, 1 if lost else 0)

    def _wait(self, opened: _Opened) -> tuple[int, int]:
        """Samples that can be read at once, whole blocks of them, and how many are lost before them; or OSError.

        PortAudio would wait as well, but for as long as it takes: after an overflow some drivers never deliver again,
        and a thread that is caught in there can only be got rid of with its process.
        """
        block = self._block_samples
        # The next burst is as far away as the last was long; after that, look more often.
        nap_s, napped_s = min(_LONGEST_NAP * block, self._burst) / opened.rate, 0.0
        silent_s = max(_SILENT_S, _LEAST_BLOCKS * block / opened.rate)
        lost = 0
        while self._there < block:
            if napped_s >= silent_s:  # by the naps, not the clock: a process may be frozen
                raise OSError(pyaudio.paTimedOut, "no more sound comes")
            time.sleep(nap_s)
            napped_s += nap_s
            nap_s = block / opened.rate / _LOOKS_A_BLOCK
            lost = self._look(opened)
        samples = min(_MOST_SAMPLES, self._there // block * block)
        self._there -= samples
        return samples, lost

    def _look(self, opened: _Opened) -> int:
        """Ask the driver what it holds, and the clock whether that is all; how many samples are lost before it."""
        asked_s = self._clock()
        there = opened.stream.get_read_available()
        if there < 0 and there != pyaudio.paInputOverflowed:
            raise OSError(there, "it is gone")
        self._there = self._burst = max(0, there)
        if self._there < self._block_samples:
            return 0
        if not opened.clock.missing(asked_s, waiting=self._there):
            self._doubts_from_s = None
            return 0
        if self._doubts_from_s is None:
            self._doubts_from_s = asked_s
        began = opened.began()
        if began == opened.began_at and asked_s - self._doubts_from_s < BELIEVED_AFTER_S:
            return 0
        opened.began_at, self._doubts_from_s = began, None
        return opened.clock.lose(asked_s, waiting=self._there)

    def close(self) -> None:
        """Stop and let PortAudio go; safe to call twice."""
        opened, self._opened = self._opened, None
        if opened is not None:
            shut(opened.library, opened.stream)

    def _start(self, library: pyaudio.PyAudio, facts: dict[str, Any]) -> tuple[int, _Opened]:
        """The first format and rate that the device opens with."""
        if facts["maxInputChannels"] < self._channel:
            count = facts["maxInputChannels"]
            raise DeviceError(f"{facts['name']} has no channel {self._channel}: set audio.channel to 1 to {count}")
        # Some drivers refuse to open fewer channels than they have.
        counts = dict.fromkeys((self._channel, max(2, self._channel), int(facts["maxInputChannels"])))
        rates = nearest_rates(self._rate, int(facts["defaultSampleRate"]))
        fault: OSError | None = None
        for rate, (code, dtype, scale), channels in itertools.product(rates, _FORMATS, counts):
            try:
                stream = self._roomy(library, facts, rate=rate, channels=channels, format=code)
            except OSError as refused:
                fault = refused
                if not _TRY_ANOTHER_WAY.intersection(refused.args):
                    break
            else:
                told = kernel_status(facts["name"])
                clock = SampleClock(rate, suspicious_s=SUSPICIOUS_S if told else SUSPICIOUS_AT_A_SERVER_S)
                began = functools.partial(stream_began, told)
                return rate, _Opened(library, stream, rate, channels, dtype, scale, clock, began, began())
        raise DeviceError(_why_not(facts["name"], fault)) from fault

    def _roomy(self, library: pyaudio.PyAudio, facts: dict[str, Any], *, rate: int, **asked: int) -> pyaudio.Stream:
        """A stream with a long buffer in periods of a block; a driver that knows few periods gets a shorter buffer."""
        block = self._block_samples
        asked |= {"rate": rate, "input_device_index": facts["index"], "frames_per_buffer": block}

        def with_room(samples: int) -> pyaudio.Stream:
            with quiet(), room(facts["index"], samples=samples, block_samples=block, rate_hz=rate):
                return library.open(input=True, **asked)

        wanted = round(ROOM_S * rate)
        try:
            stream = with_room(wanted)
        except OSError as refused:
            if _NOT_FOR_ROOM.intersection(refused.args):
                raise
            return with_room(0)
        period = period_samples(facts["name"]) or block
        if period > block:
            stream.close()
            stream = with_room(max(0, block * (wanted // period - 1)))  # as many periods as there were, each a block
        return stream

    def _one_channel(self, raw: bytes, opened: _Opened) -> NDArray[np.float32]:
        samples = np.frombuffer(raw, opened.dtype)[self._channel - 1 :: opened.channels]
        return samples.astype(np.float32) if opened.scale == 1.0 else samples * np.float32(opened.scale)


def _why_not(device: str, fault: OSError | None) -> str:
    if fault is not None and pyaudio.paDeviceUnavailable in fault.args:
        return f"{device} is busy: end the program that uses it, or choose another input"
    why = fault.args[-1] if fault else "no format fits"
    return f"{device} does not open ({why}): plug it in again, or choose another input"
