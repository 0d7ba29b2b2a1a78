"""What the driver is asked for: a long buffer where PortAudio can be asked, and everything put back afterwards."""

from __future__ import annotations

import ctypes
import threading
from pathlib import Path

import pytest

import hw.driver_room
from hw.driver_room import kernel_status, period_samples, room, stream_began


class Function:
    """A C function as ctypes calls it."""

    def __init__(self, answer: object) -> None:
        self.answer, self.asked = answer, []

    def __call__(self, *words: int) -> object:
        self.asked.append(words)
        return self.answer


class PortAudio:
    """The two functions, and the facts of one device."""

    def __init__(self, *, version: int = 2, known: bool = True) -> None:
        self.facts = hw.driver_room._Facts(version=version, low_input_latency_s=0.008)
        self.Pa_GetDeviceInfo = Function(ctypes.pointer(self.facts) if known else None)
        self.PaAlsa_SetNumPeriods = Function(0)

    def __call__(self, _: str) -> PortAudio:
        return self


@pytest.fixture
def portaudio(monkeypatch: pytest.MonkeyPatch) -> PortAudio:
    library = PortAudio()
    monkeypatch.setattr(hw.driver_room.ctypes, "CDLL", library)
    return library


def test_a_stream_opened_inside_gets_the_room_in_periods_of_a_block(portaudio: PortAudio) -> None:
    with room(3, samples=24_000, block_samples=128, rate_hz=48_000) as asked:
        assert asked
        assert portaudio.Pa_GetDeviceInfo.asked == [(3,)]
        latency_s, ((periods,),) = portaudio.facts.low_input_latency_s, portaudio.PaAlsa_SetNumPeriods.asked
    assert latency_s == pytest.approx(0.5)
    # PortAudio 19.6, PaAlsaStreamComponent_DetermineFramesPerBuffer: the period before it is rounded up to whole
    # blocks.
    assert 0 < (128 + max(128, int(latency_s * 48_000))) // periods <= 128
    assert portaudio.facts.low_input_latency_s == pytest.approx(0.008)
    assert portaudio.PaAlsa_SetNumPeriods.asked[1:] == [(4,)]


def test_it_is_put_back_when_the_stream_does_not_open(portaudio: PortAudio) -> None:
    with pytest.raises(OSError, match="busy"), room(0, samples=24_000, block_samples=128, rate_hz=48_000):
        raise OSError("busy")
    assert portaudio.facts.low_input_latency_s == pytest.approx(0.008)
    assert portaudio.PaAlsa_SetNumPeriods.asked[-1] == (4,)


@pytest.mark.parametrize("library", [PortAudio(version=3), PortAudio(known=False)])
def test_a_portaudio_of_another_make_is_left_alone(monkeypatch: pytest.MonkeyPatch, library: PortAudio) -> None:
    monkeypatch.setattr(hw.driver_room.ctypes, "CDLL", library)
    with room(0, samples=24_000, block_samples=128, rate_hz=48_000) as asked:
        assert not asked
        assert library.facts.low_input_latency_s == pytest.approx(0.008)
    assert library.PaAlsa_SetNumPeriods.asked == []


def test_a_portaudio_without_alsa_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hw.driver_room.ctypes, "CDLL", lambda _: object())
    with room(0, samples=24_000, block_samples=128, rate_hz=48_000) as asked:
        assert not asked


def test_the_real_library_is_reached() -> None:
    """It is not initialised here, so it knows no device; but its functions are found where PyAudio is linked to it."""
    library = ctypes.CDLL(hw.driver_room.pyaudio._portaudio.__file__)
    assert library.Pa_GetDeviceInfo
    assert library.PaAlsa_SetNumPeriods


def told(cards: Path, words: str, *, sub: int = 0, file: str = "hw_params") -> Path:
    """As the kernel tells of a stream (sound/core/pcm.c: snd_pcm_substream_proc_hw_params_read, ..._status_read)."""
    folder = cards / f"card1/pcm0c/sub{sub}"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / file).write_text(words)
    return folder / file


def test_the_period_of_a_card_is_read_from_the_kernel(tmp_path: Path) -> None:
    told(tmp_path, "access: MMAP_INTERLEAVED\nformat: S16_LE\nperiod_size: 768\nbuffer_size: 24576\n")
    told(tmp_path, "closed\n", sub=1)
    assert period_samples("USB Audio: - (hw:1,0)", cards=tmp_path) == 768
    assert period_samples("USB Audio: - (hw:2,0)", cards=tmp_path) is None
    assert period_samples("guitar_in", cards=tmp_path) is None


STATUS = """state: RUNNING
owner_pid   : {owner}
trigger_time: 353.920932123
tstamp      : 0.000000000
delay       : 128
avail       : 128
avail_max   : 128
-----
hw_ptr      : 48128
appl_ptr    : 48000
"""


def test_the_stream_that_we_opened_is_known_by_its_owner_and_tells_when_it_began(tmp_path: Path) -> None:
    told(tmp_path, STATUS.format(owner=1), file="status")
    own = told(tmp_path, STATUS.format(owner=threading.get_native_id()), sub=3, file="status")
    told(tmp_path, "closed\n", sub=4, file="status")
    status = kernel_status("USB Audio: - (hw:1,0)", cards=tmp_path)
    assert status == own
    assert stream_began(status) == "353.920932123"
    own.write_text("closed\n")
    assert stream_began(status) == ""


def test_where_the_kernel_knows_of_no_stream_of_ours_nothing_is_told(tmp_path: Path) -> None:
    told(tmp_path, STATUS.format(owner=1), file="status")
    assert kernel_status("USB Audio: - (hw:1,0)", cards=tmp_path) is None
    assert kernel_status("guitar_in", cards=tmp_path) is None
    assert stream_began(None) == ""
