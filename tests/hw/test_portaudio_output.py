"""The drone's output against a list of devices: by its name, else the card that the guitar comes in by, else the
default."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyaudio
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
    """Devices by name, inputs and outputs; the last is the default.

    A rate or a count of channels that it does not take is refused as `pa.open` of PyAudio 0.2.14 does: OSError of
    PortAudio's number and text, the rate's before the channels' (pa_linux_alsa.c sets them in that order).
    """

    def __init__(
        self,
        *devices: tuple[str, int, int],
        takes: tuple[int, ...] = (44_100, 48_000, 96_000),
        channels: tuple[int, ...] = (1, 2),
    ) -> None:
        self.devices, self.takes, self.channels = devices, takes, channels
        self.opened: dict[str, Any] = {}
        self.terminated = False

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
        if asked["rate"] not in self.takes:
            raise OSError(-9997, "Invalid sample rate")
        if asked["channels"] not in self.channels:
            raise OSError(-9998, "Invalid number of channels")
        self.opened = asked
        return self

    def close(self) -> None:
        pass

    def terminate(self) -> None:
        self.terminated = True


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


def test_a_rate_that_the_device_refuses_gives_way_to_its_nearest_and_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    library = Library(JACK, takes=(44_100,))
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: library)
    facts = PortAudioOutput(None).open(lambda count: np.zeros(count, np.float32))
    assert facts.sample_rate == library.opened["rate"] == 44_100
    assert facts.remark == f"{JACK[0]} does not take 48000 Hz: sounding at 44100 Hz"


def test_an_output_that_opens_at_no_rate_is_told_and_the_library_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    library = Library(JACK, takes=())
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: library)
    sink = PortAudioOutput(None)
    with pytest.raises(DeviceError, match=r"Headphones.* does not open \(.*Invalid sample rate\): choose another"):
        sink.open(lambda count: np.zeros(count, np.float32))
    assert library.terminated
    sink.close()  # of what never began: nothing


@pytest.mark.parametrize(
    ("takes", "frames"),
    [
        ((1,), [0, 1, 2]),
        ((2,), [0, 0, 1, 1, 2, 2]),
        ((4,), [0, 0, 0, 0, 1, 1, 0, 0, 2, 2, 0, 0]),
    ],
)
def test_a_device_that_takes_one_count_of_channels_alone_sounds_all_the_same(
    monkeypatch: pytest.MonkeyPatch, takes: tuple[int, ...], frames: list[float]
) -> None:
    """Seen on a real ALSA card: the loop card's other end takes what its first was opened with, which is one channel.

    An interface may take no fewer channels than it has.
    """
    library = Library(("USB Audio: - (hw:2,0)", 2, 4), channels=takes)
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: library)
    facts = PortAudioOutput(None).open(lambda count: np.arange(count, dtype=np.float32))
    assert facts.sample_rate == 48_000, "the rate that was asked for is not given up for a count of channels"
    sound, _ = library.opened["stream_callback"](None, 3, {"output_buffer_dac_time": 0.0, "current_time": 0.0}, 0)
    assert np.frombuffer(sound, "<f4").tolist() == frames


def test_what_is_told_is_why_the_rate_that_was_asked_for_failed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seen on the loop card: the last of eleven rates was told to be invalid, and the channels were what it was."""
    library = Library(JACK, takes=(48_000,), channels=())
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: library)
    with pytest.raises(DeviceError, match=r"does not open \(.*Invalid number of channels\)"):
        PortAudioOutput(None).open(lambda count: np.zeros(count, np.float32))


@pytest.mark.parametrize(("dac_s", "delay_s"), [(5.25, 0.25), (4.0, 0.0), (9.0, 0.0)])
def test_both_channels_get_the_sound_and_a_delay_that_can_be_is_kept(
    monkeypatch: pytest.MonkeyPatch, dac_s: float, delay_s: float
) -> None:
    library = Library(INTERFACE)
    monkeypatch.setattr(hw.portaudio_output, "start_library", lambda: library)
    sink = PortAudioOutput(None)
    sink.open(lambda count: np.arange(count, dtype=np.float32))
    times = {"output_buffer_dac_time": dac_s, "current_time": 5.0}
    frames, goes_on = library.opened["stream_callback"](None, 3, times, 0)
    assert np.frombuffer(frames, "<f4").tolist() == [0, 0, 1, 1, 2, 2]
    assert goes_on == pyaudio.paContinue
    assert sink.delay_s == delay_s
