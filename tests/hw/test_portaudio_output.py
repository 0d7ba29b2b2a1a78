"""The drone's output against a list of devices: by its name, else the card that the guitar comes in by, else the
default."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import hw.portaudio_output
from hw.portaudio_output import PortAudioOutput
from pedal.errors import DeviceError

JACK = ("bcm2835 Headphones: - (hw:0,0)", 0, 8)
HDMI = ("vc4-hdmi: MAI PCM (hw:1,0)", 0, 2)
INTERFACE = ("USB Audio: - (hw:2,0)", 2, 2)
DEAF_INTERFACE = ("USB Audio: - (hw:2,0)", 2, 0)
DEFAULT = ("default", 128, 128)


class Library:
    """Devices by name, inputs and outputs; the last is the default."""

    def __init__(self, *devices: tuple[str, int, int]) -> None:
        self.devices = devices
        self.opened: dict[str, Any] = {}

    def get_device_count(self) -> int:
        return len(self.devices)

    def get_device_info_by_index(self, index: int) -> dict[str, Any]:
        name, inputs, outputs = self.devices[index]
        return {
            "index": index, "name": name, "maxInputChannels": inputs, "maxOutputChannels": outputs,
            "defaultSampleRate": 48000.0,
        }  # fmt: skip

    def get_default_output_device_info(self) -> dict[str, Any]:
        return self.get_device_info_by_index(len(self.devices) - 1)

    get_default_input_device_info = get_default_output_device_info

    def open(self, **asked: Any) -> Library:
        self.opened = asked
        return self

    def close(self) -> None:
        pass

    terminate = close


@pytest.mark.parametrize(
    ("devices", "output", "beside", "chosen"),
    [
        ((JACK, HDMI, INTERFACE, DEFAULT), None, "USB", INTERFACE),
        ((JACK, HDMI, INTERFACE, DEFAULT), None, 2, INTERFACE),
        ((JACK, HDMI, INTERFACE, DEFAULT), "Headphones", "USB", JACK),
        ((JACK, HDMI, DEAF_INTERFACE, DEFAULT), None, "USB", DEFAULT),
        ((JACK, HDMI, INTERFACE, DEFAULT), None, None, DEFAULT),
        ((JACK, HDMI, INTERFACE, DEFAULT), None, "a card that is gone", DEFAULT),
        ((JACK, INTERFACE), None, "", INTERFACE),
    ],
)
def test_the_drone_leaves_by_the_card_that_the_guitar_comes_in_by(
    monkeypatch: pytest.MonkeyPatch, devices: Any, output: str | None, beside: str | int | None, chosen: Any
) -> None:
    library = Library(*devices)
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: library)
    sink = PortAudioOutput(output, beside=beside)
    facts = sink.open(lambda count: np.zeros(count, np.float32))
    assert facts.device == chosen[0]
    assert library.opened["output_device_index"] == devices.index(chosen)


def test_an_output_that_is_not_there_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: Library(JACK))
    with pytest.raises(DeviceError, match="no audio output is called 'banjo'"):
        PortAudioOutput("banjo").open(lambda count: np.zeros(count, np.float32))
