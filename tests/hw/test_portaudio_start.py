"""A sound system that does not come up is a broken device with a remedy, not a crash."""

from __future__ import annotations

import pyaudio
import pytest

from hw.portaudio_input import PortAudioInput
from hw.portaudio_output import PortAudioOutput
from hw.portaudio_survey import sound_devices
from pedal.errors import DeviceError


@pytest.fixture(autouse=True)
def a_sound_server_that_is_down(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse() -> None:
        raise OSError(-9999, "Unanticipated host error")

    monkeypatch.setattr(pyaudio, "PyAudio", refuse)


@pytest.mark.parametrize(
    "start",
    [PortAudioInput(None).open, lambda: PortAudioOutput(None).open(lambda count: None), sound_devices],
    ids=["input", "output", "survey"],
)
def test_it_is_told_with_a_remedy(start) -> None:
    with pytest.raises(DeviceError, match=r"does not start \(Unanticipated host error\): wait for the sound server"):
        start()
