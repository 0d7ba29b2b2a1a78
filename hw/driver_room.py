"""A long capture buffer at the driver, in short periods: room for a late reader, at no cost in delay.

PyAudio 0.2.14 asks PortAudio for the latency that the device's own facts call low, and has no argument for another
(src/pyaudio/stream_lifecycle.c). PortAudio's ALSA part makes of it (src/hostapi/alsa/pa_linux_alsa.c, 19.6):

    buffer = latency x rate + period
    period = (block + max(block, latency x rate)) / periods, up to a multiple of the block

with four periods if nobody says otherwise: 384 samples of latency, about 10 ms of buffer in all. So while a stream is
opened the facts are made to name a longer latency, and the number of periods is raised (PaAlsa_SetNumPeriods,
pa_linux_alsa.h) so that a period stays one block: samples come as early as before, and what the reader leaves stays
there longer. Both are put back afterwards. Where PortAudio cannot be reached this way nothing is asked, and the
buffer is the usual one.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pyaudio

ROOM_S = 0.5
"""The end of a note holds the interpreter's lock for 0.1 s on the slowest board; five times that."""
_USUAL_PERIODS = 4
"""PortAudio's own number (numPeriods_)."""
_FACTS_VERSION = 2
_HARDWARE = re.compile(r"\(hw:(\d+),(\d+)\)")
_PERIOD = re.compile(r"^period_size: (\d+)$", re.MULTILINE)
_OWNER = re.compile(r"^owner_pid\s*: (\d+)$", re.MULTILINE)
_BEGAN = re.compile(r"^trigger_time: ([\d.]+)$", re.MULTILINE)
"""hw_params and status as the kernel writes them (Linux 6.1, sound/core/pcm.c)."""
CARDS = Path("/proc/asound")


class _Facts(ctypes.Structure):
    """PaDeviceInfo of portaudio.h, version 2."""

    _fields_ = (
        ("version", ctypes.c_int),
        ("name", ctypes.c_char_p),
        ("host_api", ctypes.c_int),
        ("inputs", ctypes.c_int),
        ("outputs", ctypes.c_int),
        ("low_input_latency_s", ctypes.c_double),
        ("low_output_latency_s", ctypes.c_double),
        ("high_input_latency_s", ctypes.c_double),
        ("high_output_latency_s", ctypes.c_double),
        ("default_rate_hz", ctypes.c_double),
    )


@contextlib.contextmanager
def room(device: int, *, samples: int, block_samples: int, rate_hz: int) -> Iterator[bool]:
    """While the `with` lasts, streams of a device are opened with a buffer of `samples`; False where that is
    impossible.

    samples : 0 asks for nothing.
    """
    if not samples:
        yield False
        return
    try:
        # A look-up in the extension's own file finds what the extension is linked to, whatever it is called and
        # wherever.
        library = ctypes.CDLL(pyaudio._portaudio.__file__)
        facts_of, set_periods = library.Pa_GetDeviceInfo, library.PaAlsa_SetNumPeriods
    except (AttributeError, OSError):
        yield False
        return
    facts_of.restype, facts_of.argtypes = ctypes.POINTER(_Facts), [ctypes.c_int]
    set_periods.argtypes = [ctypes.c_int]
    facts = facts_of(device)
    if not facts or facts.contents.version != _FACTS_VERSION:
        yield False
        return
    usual_s = facts.contents.low_input_latency_s
    facts.contents.low_input_latency_s = max(usual_s, samples / rate_hz)
    set_periods(-(-(samples + block_samples) // block_samples))
    try:
        yield True
    finally:
        facts.contents.low_input_latency_s = usual_s
        set_periods(_USUAL_PERIODS)


def period_samples(device_name: str, *, cards: Path = CARDS) -> int | None:
    """Samples that a driver hands over at a time to who captures from "NAME (hw:1,0)"; None if it does not say."""
    periods = []
    for stream in _streams(device_name, cards):
        periods += [int(size) for size in _PERIOD.findall(_text(stream / "hw_params"))]
    return max(periods, default=None)


def kernel_status(device_name: str, *, cards: Path = CARDS) -> Path | None:
    """Where the kernel tells of the stream that this thread has just opened at "NAME (hw:1,0)"; None if nowhere."""
    own = {str(threading.get_native_id()), str(os.getpid())}
    for stream in _streams(device_name, cards):
        owner = _OWNER.search(_text(stream / "status"))
        if owner is not None and owner[1] in own:
            return stream / "status"
    return None


def stream_began(status: Path | None) -> str:
    """When that stream was last started, in the kernel's words: PortAudio starts it anew after each overflow."""
    began = _BEGAN.search(_text(status)) if status is not None else None
    return began[1] if began is not None else ""


def _streams(device_name: str, cards: Path) -> list[Path]:
    hardware = _HARDWARE.search(device_name)
    return sorted(cards.glob("card{}/pcm{}c/sub*".format(*hardware.groups()))) if hardware is not None else []


def _text(file: Path) -> str:
    try:
        return file.read_text()
    except OSError:
        return ""
