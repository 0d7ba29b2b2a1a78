"""Every device with what it has, and at most one default each way, against a PortAudio made of Python."""

from __future__ import annotations

from typing import Any

import pytest

import hw.portaudio_survey
from hw.portaudio_survey import sound_devices
from tests.hw.test_portaudio_input import Library

DEVICES = [("Headphones: - (hw:0,0)", 0), ("USB Audio: - (hw:1,0)", 2), ("pulse", 32)]


class Known(Library):
    """Defaults by number; None where there is none, which PortAudio tells by an OSError."""

    def __init__(self, default_in: int | None, default_out: int | None) -> None:
        super().__init__(DEVICES)
        self._defaults = default_in, default_out

    def get_device_info_by_index(self, index: int) -> dict[str, Any]:
        more = {"maxOutputChannels": 2 * (index != 1), "defaultSampleRate": 44_099.6}
        return {**super().get_device_info_by_index(index), **more}

    def _default(self, which: int) -> dict[str, Any]:
        number = self._defaults[which]
        if number is None:
            raise OSError("No Default Device Available")
        return self.get_device_info_by_index(number)

    def get_default_input_device_info(self) -> dict[str, Any]:
        return self._default(0)

    def get_default_output_device_info(self) -> dict[str, Any]:
        return self._default(1)


@pytest.mark.parametrize("default_in", [None, 0, 1, 2])
@pytest.mark.parametrize("default_out", [None, 0, 2])
def test_the_defaults_are_those_of_the_library_or_none(
    monkeypatch: pytest.MonkeyPatch, default_in: int | None, default_out: int | None
) -> None:
    library = Known(default_in, default_out)
    monkeypatch.setattr(hw.portaudio_survey, "start_library", lambda: library)
    found = sound_devices()
    assert [one.number for one in found if one.is_default_input] == ([] if default_in is None else [default_in])
    assert [one.number for one in found if one.is_default_output] == ([] if default_out is None else [default_out])
    assert [(one.number, one.name, one.inputs, one.outputs, one.default_rate_hz) for one in found] == [
        (0, DEVICES[0][0], 0, 2, 44_100), (1, DEVICES[1][0], 2, 0, 44_100), (2, "pulse", 32, 2, 44_100),
    ]  # fmt: skip
    assert library.terminated
