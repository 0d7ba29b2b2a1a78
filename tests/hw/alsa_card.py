"""A sound card behind ALSA and PortAudio, in a time that the test moves by hand.

It behaves as the sources say (PortAudio 19.6, src/hostapi/alsa/pa_linux_alsa.c; PyAudio 0.2.14,
src/pyaudio/stream_io.c): samples come in whole periods; when the buffer is full everything in it is dropped and the
card starts anew at the next call; PyAudio then says nothing, or raises and closes the stream, as it is asked.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pyaudio


class AlsaCard:
    """Library, stream and clock in one. Sample number n has the value n / 2**24, so that a reader can be held to
    account.

    buffer, period : samples.
    held_back_s : what a starved server has not handed over yet.
    drift : how much faster than the clock the card runs, as a share.
    """

    def __init__(self, *, buffer: int, period: int = 128, rate: int = 48_000, drift: float = 0.0) -> None:
        self.buffer, self.period, self.rate, self.drift = buffer, period, rate, drift
        self.now_s = 1000.0
        self.dropped = self.overflows = 0
        self._began_s, self._first, self._taken = self.now_s, 0, 0
        self._closed = False
        self.held_back_s = 0.0

    @property
    def began(self) -> str:
        """When the kernel says that the stream was started last."""
        return f"{self._began_s:.9f}"

    # The clock.

    def time(self) -> float:
        return self.now_s

    def sleep(self, seconds: float) -> None:
        self.now_s += seconds

    # The library.

    def get_device_count(self) -> int:
        return 1

    def get_device_info_by_index(self, index: int) -> dict[str, Any]:
        return {"index": index, "name": "card", "maxInputChannels": 1, "defaultSampleRate": float(self.rate)}

    def get_default_input_device_info(self) -> dict[str, Any]:
        return self.get_device_info_by_index(0)

    def open(self, **_: Any) -> AlsaCard:
        self._began_s = self.now_s
        return self

    def terminate(self) -> None:
        pass

    # The stream.

    def get_input_latency(self) -> float:
        return (self.buffer - self.period) / self.rate

    def get_read_available(self) -> int:
        self._refuse_if_closed()
        self._overflow_if_full()
        return max(0, self._came() - self._taken)

    def read(self, samples: int, *, exception_on_overflow: bool) -> bytes:
        self._refuse_if_closed()
        if self._overflow_if_full() and exception_on_overflow:
            self._closed = True
            raise OSError(pyaudio.paInputOverflowed, "Input overflowed")
        while self._came() - self._taken < samples:
            self.now_s += self.period / self.rate
        first = self._first + self._taken
        self._taken += samples
        return (np.arange(first, first + samples) / 2**24).astype("<f4").tobytes()

    def close(self) -> None:
        self._closed = True

    def _came(self) -> int:
        """Samples since the last start, in whole periods."""
        heard = round((self.now_s - self.held_back_s - self._began_s) * self.rate * (1 + self.drift), 6)
        return int(heard // self.period * self.period)

    def _overflow_if_full(self) -> bool:
        if self._came() - self._taken < self.buffer:
            return False
        heard = round((self.now_s - self._began_s) * self.rate * (1 + self.drift))
        self.dropped += heard - self._taken
        self.overflows += 1
        self._first += heard
        self._began_s, self._taken = self.now_s, 0
        return True

    def _refuse_if_closed(self) -> None:
        if self._closed:
            raise OSError(pyaudio.paBadStreamPtr, "Stream closed")
