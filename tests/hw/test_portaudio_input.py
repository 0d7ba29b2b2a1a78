"""The input against a PortAudio that refuses, overflows and dies on demand; a real stream is tried elsewhere."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pyaudio
import pytest

import hw.portaudio_input
from hw.portaudio_input import PortAudioInput
from pedal.errors import DeviceError


class Library:
    """Devices by name and channels; `takes` decides which openings succeed; `script` is what reads give.

    It fails as PyAudio 0.2.14 fails (src/pyaudio/stream_io.c, PyAudio_ReadStream): whatever it raises while it reads,
    the stream is closed by then, and answers every later call with "Stream closed".
    """

    def __init__(
        self,
        devices: list[tuple[str, int]],
        *,
        takes: Callable[[dict[str, Any]], int | None] = lambda _: None,
        script: list[np.ndarray | int] | None = None,
    ) -> None:
        self.devices, self.takes, self.script = devices, takes, script or []
        self.opened: dict[str, Any] = {}
        self.asked: list[dict[str, Any]] = []
        self.terminated = self.closed = self.cleaned_up = False

    def get_device_count(self) -> int:
        return len(self.devices)

    def get_device_info_by_index(self, index: int) -> dict[str, Any]:
        name, channels = self.devices[index]
        return {"index": index, "name": name, "maxInputChannels": channels, "defaultSampleRate": 44100.0}

    def get_default_input_device_info(self) -> dict[str, Any]:
        raise OSError("No Default Input Device Available")

    def open(self, **asked: Any) -> Library:
        self.asked.append(asked)
        refusal = self.takes(asked)
        if refusal is not None:
            raise OSError(refusal, "refused by the double")
        self.opened = asked
        return self

    def get_read_available(self) -> int:
        """A block at a time, as the script has them; what it says of the driver's end comes from the reading."""
        self._refuse_if_cleaned_up()
        if not self.script:
            return 0
        step = self.script[0]
        if isinstance(step, tuple):
            self.script.pop(0)
            return int(step[0])
        return self.opened["frames_per_buffer"]

    def read(self, samples: int, *, exception_on_overflow: bool) -> bytes:
        self._refuse_if_cleaned_up()
        step = self.script.pop(0)
        if isinstance(step, int):
            if step == pyaudio.paInputOverflowed and not exception_on_overflow:
                return self.read(samples, exception_on_overflow=False)
            self.cleaned_up = True
            raise OSError(step, "told by the double")
        assert len(step) == samples * self.opened["channels"]
        return step.tobytes()

    def get_input_latency(self) -> float:
        return 0.008

    def _refuse_if_cleaned_up(self) -> None:
        if self.cleaned_up:
            raise OSError(pyaudio.paBadStreamPtr, "Stream closed")

    def close(self) -> None:
        self.closed = True

    def terminate(self) -> None:
        self.terminated = True


@pytest.fixture
def use(monkeypatch: pytest.MonkeyPatch) -> Callable[[Library], Library]:
    def put(library: Library) -> Library:
        monkeypatch.setattr(hw.portaudio_input, "start_library", lambda: library)
        return library

    return put


INTERFACE = ("stage interface", 2)


@pytest.mark.parametrize(
    ("wanted", "number"),
    [("stage interface", 1), ("STAGE", 1), ("1", 1), (1, 1), (2, 2), (None, 1), ("", 1), ("interface two", 2)],
)
def test_a_device_is_found_by_name_part_or_number(use: Any, wanted: str | int | None, number: int) -> None:
    library = use(Library([("speaker", 0), INTERFACE, ("stage interface two", 1)]))
    PortAudioInput(wanted).open()
    assert library.opened["input_device_index"] == number


@pytest.mark.parametrize("wanted", ["banjo", 7, "7", "speaker", 0])
def test_what_is_no_input_is_refused_with_those_there_are(use: Any, wanted: str | int) -> None:
    library = use(Library([("speaker", 0), INTERFACE]))
    with pytest.raises(DeviceError, match=r"no audio input is called .*plug the interface in.*1 stage interface"):
        PortAudioInput(wanted).open()
    assert library.terminated


def test_a_machine_without_any_input_says_so(use: Any) -> None:
    use(Library([("speaker", 0)]))
    with pytest.raises(DeviceError, match=r"^there is no audio input: plug the interface in"):
        PortAudioInput(None).open()


def refusing_rates(*taken: int) -> Callable[[dict[str, Any]], int | None]:
    return lambda asked: None if asked["rate"] in taken else pyaudio.paInvalidSampleRate


@pytest.mark.parametrize(
    ("asked", "taken", "given"),
    [
        (48000, (44100, 48000), 48000),
        (48000, (44100, 96000), 44100),
        (192000, (96000, 44100), 96000),
        (8000, (44100,), 44100),
    ],
)
def test_the_nearest_rate_is_taken_and_said(use: Any, asked: int, taken: tuple[int, ...], given: int) -> None:
    use(Library([INTERFACE], takes=refusing_rates(*taken)))
    facts = PortAudioInput(None, sample_rate=asked).open()
    assert facts.sample_rate == given
    assert facts.remark == (
        "" if given == asked else f"stage interface does not take {asked} Hz: listening at {given} Hz"
    )


def test_a_device_that_only_opens_with_all_its_channels_gives_the_wanted_one(use: Any) -> None:
    pairs = np.stack([np.zeros(4), np.linspace(0.1, 0.4, 4)], axis=1).astype("<f4").ravel()
    use(
        Library(
            [INTERFACE], takes=lambda a: pyaudio.paInvalidChannelCount if a["channels"] < 2 else None, script=[pairs]
        )
    )
    source = PortAudioInput(None, block_samples=4, channel=2)
    source.open()
    assert source.read().samples.tolist() == pytest.approx([0.1, 0.2, 0.3, 0.4])


def test_a_device_without_float_samples_is_read_as_integers(use: Any) -> None:
    script = [np.array([-32768, 0, 16384, 32767], "<i2")]
    takes = lambda a: pyaudio.paSampleFormatNotSupported if a["format"] == pyaudio.paFloat32 else None  # noqa: E731
    use(Library([INTERFACE], takes=takes, script=script))
    source = PortAudioInput(None, block_samples=4)
    source.open()
    samples = source.read().samples
    assert samples.dtype == np.float32
    assert samples.tolist() == pytest.approx([-1.0, 0.0, 0.5, 1.0], abs=1e-4)


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        (pyaudio.paDeviceUnavailable, "stage interface is busy: end the program that uses it"),
        (pyaudio.paUnanticipatedHostError, "stage interface does not open .*: plug it in again"),
    ],
)
def test_a_device_that_does_not_open_is_told_and_let_go(use: Any, code: int, sentence: str) -> None:
    library = use(Library([INTERFACE], takes=lambda _: code))
    with pytest.raises(DeviceError, match=sentence):
        PortAudioInput(None).open()
    assert len(library.asked) == (1 if code == pyaudio.paDeviceUnavailable else 2)  # with room, and without
    assert library.terminated


def test_a_channel_that_the_device_lacks_is_refused(use: Any) -> None:
    use(Library([INTERFACE]))
    with pytest.raises(DeviceError, match=r"stage interface has no channel 3: set audio.channel to 1 to 2"):
        PortAudioInput(None, channel=3).open()


def block(value: float) -> np.ndarray:
    return np.full(4, value, "<f4")


def test_an_overflow_is_never_asked_to_raise(use: Any) -> None:
    """Raising would close the stream: each of these blocks comes with an overflow, and each comes."""
    script = [step for _ in range(100) for step in (pyaudio.paInputOverflowed, block(0.1))]
    use(Library([INTERFACE], script=script))
    source = PortAudioInput(None, block_samples=4)
    source.open()
    assert [source.read().samples.tolist() for _ in range(100)] == [pytest.approx([0.1] * 4)] * 100


def test_a_device_that_is_gone_says_to_plug_it_in(use: Any) -> None:
    library = use(Library([INTERFACE], script=[pyaudio.paUnanticipatedHostError]))
    source = PortAudioInput(None, block_samples=4)
    source.open()
    with pytest.raises(DeviceError, match="plug it in again"):
        source.read()
    source.close()
    source.close()
    assert library.closed
    assert library.terminated
    with pytest.raises(DeviceError, match="is closed"):
        source.read()


@pytest.fixture
def naps(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    taken: list[float] = []
    monkeypatch.setattr(hw.portaudio_input.time, "sleep", taken.append)
    return taken


def test_a_device_that_gives_nothing_more_is_lost_after_half_a_second_of_naps(use: Any, naps: list[float]) -> None:
    """PortAudio itself waits for ever: a driver that does not start again after an overflow would keep the thread."""
    use(Library([INTERFACE], script=[np.zeros(128, "<f4")]))
    source = PortAudioInput(None)
    source.open()
    source.read()
    with pytest.raises(DeviceError, match=r"^the audio input stopped \(no more sound comes\): plug it in again"):
        source.read()
    assert sum(naps) == pytest.approx(0.5, abs=0.01)
    assert max(naps) < 3 * 128 / 48_000


@pytest.mark.parametrize("told", [pyaudio.paInputOverflowed, 0, 100])
def test_it_naps_until_a_whole_block_is_there(use: Any, naps: list[float], told: int) -> None:
    """Once before it looks at all, because nothing is known to be there, and once more after it was told so."""
    use(Library([INTERFACE], script=[(told,), np.zeros(128, "<f4")]))  # type: ignore[list-item]
    source = PortAudioInput(None)
    source.open()
    assert len(source.read().samples) == 128
    assert len(naps) == 2


def test_what_is_known_to_be_there_is_read_without_a_nap_or_a_look(use: Any, naps: list[float]) -> None:
    library = use(Library([INTERFACE], script=[(1500,), np.zeros(1024, "<f4"), np.zeros(384, "<f4"), (0,)]))  # type: ignore[list-item]
    source = PortAudioInput(None)
    source.open()
    assert [len(source.read().samples) for _ in range(2)] == [1024, 384]
    assert (len(naps), library.script) == (1, [(0,)])


def test_a_driver_that_has_lost_its_device_says_so_while_waiting(use: Any, naps: list[float]) -> None:
    use(Library([INTERFACE], script=[(pyaudio.paUnanticipatedHostError,)]))  # type: ignore[list-item]
    source = PortAudioInput(None)
    source.open()
    with pytest.raises(DeviceError, match="it is gone"):
        source.read()


CARDS = [
    ("HDMI: 0 (hw:0,3)", 0),
    ("USB Audio: - (hw:2,0)", 2),
    ("Loopback: PCM (hw:3,0)", 2),
    ("Loopback: PCM (hw:3,1)", 2),
]


@pytest.mark.parametrize(
    ("wanted", "number"),
    [
        ("USB Audio: - (hw:1,0)", 1),  # as a menu of another day had it: the card has another number since
        ("usb audio: -", 1),
        ("USB Audio: - (hw:2,0)", 1),
        ("Loopback: PCM (hw:0,0)", 2),
        ("Loopback: PCM (hw:0,1)", 3),
        ("Loopback: PCM (hw:,1)", 3),
        ("Loopback: PCM", 2),
        ("hw:3,1", 3),
    ],
)
def test_a_card_is_found_by_its_name_whatever_number_it_has_today(use: Any, wanted: str, number: int) -> None:
    """PortAudio calls them "CARD: DEVICE (hw:2,0)" (pa_linux_alsa.c, BuildDeviceList)."""
    library = use(Library(CARDS))
    facts = PortAudioInput(wanted).open()
    assert library.opened["input_device_index"] == number
    assert facts.inputs == ("USB Audio: -", "Loopback: PCM", "Loopback: PCM (hw:,1)")


def test_of_two_cards_of_one_name_the_number_tells_which(use: Any) -> None:
    library = use(Library([("USB Audio: - (hw:1,0)", 1), ("USB Audio: - (hw:2,0)", 1)]))
    facts = PortAudioInput("USB Audio: - (hw:2,0)").open()
    assert library.opened["input_device_index"] == 1
    assert facts.inputs == ("USB Audio: - (hw:1,0)", "USB Audio: - (hw:2,0)")


@pytest.fixture
def rooms(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Samples of room that each opening asked for."""
    asked: list[int] = []

    @contextlib.contextmanager
    def room(device: int, *, samples: int, block_samples: int, rate_hz: int) -> Iterator[bool]:
        asked.append(samples)
        yield True

    monkeypatch.setattr(hw.portaudio_input, "room", room)
    return asked


def test_a_driver_that_cannot_have_so_much_room_is_opened_with_the_usual(use: Any, rooms: list[int]) -> None:
    library = use(Library([INTERFACE], takes=lambda _: pyaudio.paUnanticipatedHostError if rooms[-1] else None))
    PortAudioInput(None).open()
    assert rooms == [24_000, 0]
    assert library.opened


def test_a_driver_of_few_periods_gets_as_many_blocks_as_it_has_periods(
    use: Any, rooms: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With 32 periods at most, half a second would come in periods of 16 ms: the pedal would hear that much later."""
    library = use(Library([INTERFACE]))
    monkeypatch.setattr(hw.portaudio_input, "period_samples", lambda _: 768 if rooms[-1] > 10_000 else 128)
    PortAudioInput(None).open()
    assert rooms == [24_000, 30 * 128]
    assert library.closed
