"""Every sound device that PortAudio knows, in and out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pyaudio

from hw.portaudio_stream import quiet, start_library
from pedal.ports import SoundDevice


def sound_devices() -> list[SoundDevice]:
    """All devices, by number; an empty list where there are none."""
    library = start_library()
    try:
        default_in, default_out = _default(library, "input"), _default(library, "output")
        facts = [dict(library.get_device_info_by_index(i)) for i in range(library.get_device_count())]
        return [_device(f, default_in, default_out) for f in facts]
    finally:
        with quiet():
            library.terminate()


def portaudio_version() -> str:
    """PortAudio's own words on its version."""
    return str(pyaudio.get_portaudio_version_text())


def _default(library: pyaudio.PyAudio, direction: str) -> int:
    try:
        if direction == "input":
            return int(library.get_default_input_device_info()["index"])
        return int(library.get_default_output_device_info()["index"])
    except OSError:
        return -1


def sound_device(facts: dict[str, Any]) -> SoundDevice:
    """A device by what PortAudio says of it, which is not whether it is the default."""
    return SoundDevice(
        number=int(facts["index"]),
        name=str(facts["name"]),
        inputs=int(facts["maxInputChannels"]),
        outputs=int(facts["maxOutputChannels"]),
        default_rate_hz=round(facts["defaultSampleRate"]),
    )


def _device(facts: dict[str, Any], default_in: int, default_out: int) -> SoundDevice:
    device = sound_device(facts)
    return replace(device, is_default_input=device.number == default_in, is_default_output=device.number == default_out)
