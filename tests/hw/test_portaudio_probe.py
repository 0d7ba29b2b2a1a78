"""What can be chosen, and a piece of every channel of it, against a PortAudio made of Python."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyaudio
import pytest

import hw.portaudio_probe
from hw.portaudio_probe import choosable, record_all_channels
from pedal.errors import DeviceError
from tests.hw.test_portaudio_input import Library

JACK, INTERFACE, SERVER, ALIAS = (
    ("Headphones: - (hw:0,0)", 0),
    ("USB Audio: - (hw:2,0)", 2),
    ("pulse", 32),
    ("default", 32),
)


def use(monkeypatch: pytest.MonkeyPatch, library: Library) -> Library:
    monkeypatch.setattr(hw.portaudio_probe, "start_library", lambda: library)
    return library


@pytest.mark.parametrize(
    ("devices", "offered"),
    [
        ([JACK, INTERFACE, SERVER, ALIAS], [(1, "USB Audio: -", 2)]),
        ([SERVER, ALIAS], [(0, "pulse", 32)]),
        ([ALIAS], [(0, "default", 32)]),
        ([JACK], []),
        (
            [("USB Audio: - (hw:1,0)", 1), INTERFACE],
            [(0, "USB Audio: - (hw:1,0)", 1), (1, "USB Audio: - (hw:2,0)", 2)],
        ),
    ],
)
def test_cards_are_offered_and_other_names_only_where_there_are_none(
    monkeypatch: pytest.MonkeyPatch, devices: list[tuple[str, int]], offered: list[tuple[int, str, int]]
) -> None:
    class Both(Library):
        def get_device_info_by_index(self, index: int) -> dict[str, Any]:
            return {**super().get_device_info_by_index(index), "maxOutputChannels": 0}

    library = use(monkeypatch, Both(devices))
    assert [(one.number, one.name, one.inputs) for one in choosable("input")] == offered
    assert choosable("output") == []
    assert library.terminated


def test_every_channel_is_recorded_until_nothing_comes(monkeypatch: pytest.MonkeyPatch) -> None:
    library = use(monkeypatch, Library([INTERFACE], script=[np.tile([0.1, 0.2], 1024).astype("<f4")]))
    naps: list[float] = []
    monkeypatch.setattr(hw.portaudio_probe.time, "sleep", naps.append)
    rate, samples = record_all_channels(0, seconds=2.0)
    assert (rate, samples.shape) == (44_100, (1024, 2))
    assert samples[5].tolist() == pytest.approx([0.1, 0.2])
    assert sum(naps) == pytest.approx(1.0, abs=0.03)
    assert library.closed and library.terminated


def test_a_device_that_does_not_open_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    library = use(monkeypatch, Library([INTERFACE], takes=lambda _: pyaudio.paDeviceUnavailable))
    with pytest.raises(DeviceError, match=r"USB Audio: - \(hw:2,0\) does not open \(refused by the double\): end what"):
        record_all_channels(0, seconds=1.0)
    assert library.terminated
