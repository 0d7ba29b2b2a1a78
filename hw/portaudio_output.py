"""Where the drone sounds: a PortAudio stream that pulls samples by callback, apart from the input's stream."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping

import numpy as np
import pyaudio
from numpy.typing import NDArray

from hw.portaudio_stream import find_output, nearest_rates, quiet, shut, start_library
from pedal.errors import DeviceError
from pedal.ports import StreamFacts


class PortAudioOutput:
    """A device's output, the same sound on its first one or two channels.

    beside : the guitar's input, whose card is taken where no device is named.
    sample_rate, block_samples : hertz, and samples of one block.

    Blocks are long: nobody waits for a drone, and one that runs dry clicks and comes back out of step.
    """

    def __init__(
        self,
        device: str | int | None,
        *,
        beside: str | int | None = None,
        sample_rate: int = 48_000,
        block_samples: int = 2048,
    ) -> None:
        self._device, self._beside, self._rate, self._block_samples = device, beside, sample_rate, block_samples
        self._running: tuple[pyaudio.PyAudio, pyaudio.Stream] | None = None
        self.delay_s = 0.0
        """From `render` to the sound, by the driver's own count."""

    def open(self, render: Callable[[int], NDArray[np.float32]]) -> StreamFacts:
        """Pull mono samples from `render(n)`, which must neither wait nor fail; raises DeviceError."""
        self.close()
        library = start_library()
        try:
            facts = find_output(library, self._device, beside=self._beside)
            rate, stream = self._start(library, facts, render)
        except BaseException:
            library.terminate()
            raise
        self._running = (library, stream)
        remark = "" if rate == self._rate else f"{facts['name']} does not take {self._rate} Hz: sounding at {rate} Hz"
        return StreamFacts(str(facts["name"]), rate, self._block_samples, 1, remark)

    def close(self) -> None:
        """Fall silent; safe to call twice."""
        running, self._running = self._running, None
        if running is not None:
            shut(*running)

    def _start(
        self,
        library: pyaudio.PyAudio,
        facts: Mapping[str, object],
        render: Callable[[int], NDArray[np.float32]],
    ) -> tuple[int, pyaudio.Stream]:
        """The first rate and count of channels that the device opens with."""
        most = int(str(facts["maxOutputChannels"]))
        # Some drivers refuse to open fewer channels than they have, others more than the input was opened with.
        counts = dict.fromkeys((min(2, most), 1, most))
        rates = nearest_rates(self._rate, int(str(facts["defaultSampleRate"]).split(".", maxsplit=1)[0]))
        fault: Exception | None = None
        for rate, channels in itertools.product(rates, counts):
            try:
                with quiet():
                    return rate, library.open(
                        rate=rate,
                        channels=channels,
                        format=pyaudio.paFloat32,
                        output=True,
                        output_device_index=facts["index"],
                        frames_per_buffer=self._block_samples,
                        stream_callback=self._pull(render, channels),
                    )
            except (OSError, ValueError) as refused:
                fault = fault or refused  # the first is why what was asked for fails
        raise DeviceError(f"{facts['name']} does not open ({fault}): choose another output") from fault

    def _pull(self, render: Callable[[int], NDArray[np.float32]], channels: int) -> Callable[..., tuple[bytes, int]]:
        """The same on the first one or two of so many channels, and nothing on the others."""

        def pull(_: object, count: int, times: Mapping[str, float], __: int) -> tuple[bytes, int]:
            self.delay_s = _delay_of(times)
            frames = np.zeros((count, channels), "<f4")
            frames[:, :2] = render(count)[:, np.newaxis]
            return frames.tobytes(), pyaudio.paContinue

        return pull


MOST_DELAY_S = 2.0
"""Half a second is a lot; what some drivers say of a stream that has just begun is no delay at all."""


def _delay_of(times: Mapping[str, float]) -> float:
    """From now to the sound of the first sample: PaStreamCallbackTimeInfo of portaudio.h, by PyAudio's names."""
    delay_s = times["output_buffer_dac_time"] - times["current_time"]
    return delay_s if 0.0 <= delay_s <= MOST_DELAY_S else 0.0
