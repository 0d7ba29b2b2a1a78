"""Inputs and outputs that can be chosen, and a piece of sound from every channel of an input at once."""

from __future__ import annotations

import contextlib
import time
from dataclasses import replace
from typing import Any

import numpy as np
import pyaudio
from numpy.typing import NDArray

from hw.portaudio_stream import Direction, device_names, fitting, quiet, start_library
from hw.portaudio_survey import sound_device
from pedal.errors import DeviceError
from pedal.ports import SoundDevice

_HARDWARE = "(hw:"
_ALIAS = "default"
_MOST_CHANNELS = 8
_NAP_S = 0.02
_SILENT_S = 1.0
"""A device that gives nothing for so long is not asked any more."""


def choosable(direction: Direction) -> list[SoundDevice]:
    """Devices to choose from, by the names that last; where cards are named, only them: other names stand for them."""
    library = start_library()
    try:
        named = list(zip(fitting(library, direction), device_names(library, direction), strict=True))
    finally:
        with quiet():
            library.terminate()
    cards = [pair for pair in named if _HARDWARE in str(pair[0]["name"])]
    own = [pair for pair in named if str(pair[0]["name"]) != _ALIAS]
    return [replace(sound_device(facts), name=name) for facts, name in cards or own or named]


def record_all_channels(number: int, *, seconds: float, name: str = "the input") -> tuple[int, NDArray[np.float32]]:
    """(rate, samples of shape (time, channels) in [-1, 1]) from a device, at its own rate; raises DeviceError."""
    library = start_library()
    try:
        facts = dict(library.get_device_info_by_index(number))
        name, rate = str(facts["name"]), int(facts["defaultSampleRate"])
        channels = min(_MOST_CHANNELS, int(facts["maxInputChannels"]))
        with quiet():
            stream = library.open(
                rate=rate,
                channels=channels,
                format=pyaudio.paFloat32,
                input=True,
                input_device_index=number,
                frames_per_buffer=1024,
            )
        try:
            raw = _read(stream, round(seconds * rate))
        finally:
            with contextlib.suppress(OSError), quiet():
                stream.close()
    except (OSError, ValueError) as fault:
        why = fault.args[-1] if fault.args else fault
        raise DeviceError(f"{name} does not open ({why}): end what else uses it, or plug it in again") from fault
    finally:
        with contextlib.suppress(OSError), quiet():
            library.terminate()
    return rate, np.frombuffer(raw, "<f4").reshape(-1, channels)


def _read(stream: Any, samples: int) -> bytes:
    """So many frames, or as many as come; never waiting inside the driver, which may not let go."""
    parts: list[bytes] = []
    silent_s = 0.0
    while samples > 0 and silent_s < _SILENT_S:
        there = stream.get_read_available()
        if there <= 0:
            time.sleep(_NAP_S)
            silent_s += _NAP_S
            continue
        silent_s, take = 0.0, min(there, samples)
        parts.append(stream.read(take, exception_on_overflow=False))
        samples -= take
    return b"".join(parts)
