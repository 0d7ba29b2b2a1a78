"""What input and output share of PortAudio: a quiet start, devices by name or number, the nearest rate."""

from __future__ import annotations

import contextlib
import os
import re
import threading
from collections.abc import Iterator
from typing import Any, Literal

import pyaudio

from pedal.errors import DeviceError

Direction = Literal["input", "output"]
COMMON_RATES = (44_100, 48_000, 88_200, 96_000, 32_000, 22_050, 16_000, 176_400, 192_000, 11_025, 8_000)
_CHANNELS = {"input": "maxInputChannels", "output": "maxOutputChannels"}
_CARD_NUMBER = re.compile(r"\(hw:(\d+),(\d+)\)$")
_REMEDY = {
    "input": "plug the interface in, or choose one that undertoe doctor lists",
    "output": "choose an output that undertoe doctor lists, or switch the drone off",
}


class _Mute:
    """File descriptor 2 leads nowhere while anyone is quiet: the first to come keeps it, the last to go puts it back.

    The lock is never held over a driver's call, which may hang.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._quiet = 0
        self._kept = -1

    def begin(self) -> None:
        with self._lock:
            if not self._quiet:
                self._kept = os.dup(2)
                null = os.open(os.devnull, os.O_WRONLY | os.O_CLOEXEC)
                os.dup2(null, 2)
                os.close(null)
            self._quiet += 1

    def end(self) -> None:
        with self._lock:
            self._quiet -= 1
            if not self._quiet:
                os.dup2(self._kept, 2)
                os.close(self._kept)


_MUTE = _Mute()


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Hide what PortAudio's probing of drivers writes to standard error from C; only around its calls.

    Several threads may be quiet at once. Should one of them hang, file descriptor 2 stays mute:
    `pedal.cli.entry.program` writes its own words to another.
    """
    _MUTE.begin()
    try:
        yield
    finally:
        _MUTE.end()


def start_library() -> pyaudio.PyAudio:
    """A fresh PortAudio. Its device list is fixed from here on: every re-open needs a new one.

    Raises DeviceError where it does not start, as while the sound server is down that ALSA's default device leads to.
    """
    try:
        with quiet():
            return pyaudio.PyAudio()
    except OSError as fault:
        remedy = "wait for the sound server, or look at ALSA's configuration"
        raise DeviceError(f"the sound system does not start ({fault.args[-1]}): {remedy}") from fault


def find_device(library: pyaudio.PyAudio, wanted: str | int | None, direction: Direction) -> dict[str, Any]:
    """The device's facts: by number, by its name or part of it (case aside), or the default for None; or DeviceError.

    A name with the number of a card, "USB Audio: - (hw:1,0)", is that card's if it is there, else that of the card of
    this name: cards are numbered as they happen to come up.
    """
    those = fitting(library, direction)
    if not those:
        raise DeviceError(f"there is no audio {direction}: {_REMEDY[direction]}")
    if wanted is None or wanted == "":
        try:
            if direction == "input":
                return dict(library.get_default_input_device_info())
            return dict(library.get_default_output_device_info())
        except OSError:
            return those[0]
    number = str(wanted).lstrip("0") or "0"  # as words: Python refuses to read a number of thousands of figures
    if isinstance(wanted, int) or wanted.isdecimal():
        found = [facts for facts in those if str(facts["index"]) == number]
    else:
        found = (
            [facts for facts in those if facts["name"].lower() == wanted.lower()]
            or [facts for facts in those if lasting_name(facts["name"]).lower() == lasting_name(wanted).lower()]
            or [facts for facts in those if wanted.lower() in facts["name"].lower()]
        )
    if not found:
        names = ", ".join(f"{facts['index']} {facts['name']}" for facts in those)
        raise DeviceError(f"no audio {direction} is called {wanted!r}: {_REMEDY[direction]}; there are {names}")
    return found[0]


def find_output(library: pyaudio.PyAudio, wanted: str | int | None, *, beside: str | int | None) -> dict[str, Any]:
    """The output of that name or number; for None one on the card of the input `beside`, else the default.

    ALSA's default is the board's own jack or its screen, where nobody on a stage listens. Raises DeviceError.
    """
    if wanted is None or wanted == "":
        with contextlib.suppress(DeviceError):
            card = _card(find_device(library, beside, "input"))
            for facts in fitting(library, "output"):
                if card is not None and _card(facts) == card:
                    return facts
    return find_device(library, wanted, "output")


def device_names(library: pyaudio.PyAudio, direction: Direction) -> tuple[str, ...]:
    """Names of all devices of that direction, such as last over a restart; a card's number only where two share one."""
    names = [str(facts["name"]) for facts in fitting(library, direction)]
    lasting = [lasting_name(name) for name in names]
    return tuple(name if lasting.count(last) > 1 else last for name, last in zip(names, lasting, strict=True))


def lasting_name(name: str) -> str:
    """A device's name without the number of its card: "USB Audio: - (hw:1,0)" is "USB Audio: -".

    The number of a device on its card stays, unless it is 0: "Loopback: PCM (hw:1,1)" is "Loopback: PCM (hw:,1)".
    """
    hardware = _CARD_NUMBER.search(name)
    if hardware is None:
        return name
    plain = name[: hardware.start()].rstrip()
    return plain if hardware[2] == "0" else f"{plain} (hw:,{hardware[2]})"


def _card(facts: dict[str, Any]) -> str | None:
    hardware = _CARD_NUMBER.search(facts["name"])
    return hardware[1] if hardware is not None else None


def nearest_rates(asked: int, default: int) -> list[int]:
    """Rates to try, the asked one first, then by their distance as a ratio."""
    rates = sorted({*COMMON_RATES, default} - {asked}, key=lambda rate: max(rate / asked, asked / rate))
    return [asked, *rates]


def fitting(library: pyaudio.PyAudio, direction: Direction) -> list[dict[str, Any]]:
    """The facts of all devices of that direction, in the order of their numbers."""
    every = (dict(library.get_device_info_by_index(i)) for i in range(library.get_device_count()))
    return [facts for facts in every if facts[_CHANNELS[direction]] > 0]


def shut(library: pyaudio.PyAudio, stream: pyaudio.Stream) -> None:
    """Let a stream and its library go, whatever they say to it."""
    for step in (stream.close, library.terminate):
        with contextlib.suppress(OSError), quiet():
            step()
