"""What devices and files may be, at the very ends of each range and just beyond."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from hw.driver_room import _Facts, room
from hw.keyboard_switches import STAY, Presses
from hw.luma_screen import Run, changed_runs
from hw.portaudio_output import _delay_of
from hw.portaudio_stream import COMMON_RATES, find_device, lasting_name, nearest_rates
from hw.sample_clock import SampleClock
from hw.sound_file import SoundFile
from pedal.errors import DeviceError, TakeError

# What docs and comments say; not taken from the code, so that a change of it is seen.
LOWEST_RATE, HIGHEST_RATE, MOST_CHANNELS = 8_000, 192_000, 32
GAP_S, LONG_S, REPEAT_S, ANSWERED_S, MOST_WAITING = 0.12, 0.9, 0.1, 0.62, 16
JOIN_COLUMNS, MOST_DELAY_S = 10, 2.0


def take(folder: Path, *, rate: int = 48_000, channels: int = 1, frames: int = 100, kind: str = "FLOAT") -> Path:
    path = folder / "take.wav"
    soundfile.write(path, np.full((frames, channels), 0.25), rate, subtype=kind)
    return path


@pytest.mark.parametrize("rate", [LOWEST_RATE, HIGHEST_RATE])
def test_a_take_at_either_end_of_the_rates_is_read_whole(tmp_path: Path, rate: int) -> None:
    source = SoundFile(take(tmp_path, rate=rate), block_samples=64)
    assert source.open().sample_rate == rate
    lengths = []
    while (block := source.read()) is not None:
        lengths.append(len(block.samples))
        assert (block.samples == 0.25).all()
    source.close()
    assert (source.total_samples, lengths, source.remarks) == (100, [64, 36], [])


@pytest.mark.parametrize("rate", [LOWEST_RATE - 1, HIGHEST_RATE + 1])
def test_a_take_beyond_the_rates_is_refused_with_both_ends(tmp_path: Path, rate: int) -> None:
    words = f"has {rate} samples a second: takes from 8000 to 192000 can be judged"
    with pytest.raises(TakeError, match=words):
        SoundFile(take(tmp_path, rate=rate)).open()


@pytest.mark.parametrize(("channels", "fine"), [(1, True), (MOST_CHANNELS, True), (MOST_CHANNELS + 1, False)])
def test_a_take_has_a_bounded_number_of_channels(tmp_path: Path, channels: int, fine: bool) -> None:
    source = SoundFile(take(tmp_path, channels=channels), channel=1)
    if not fine:
        with pytest.raises(TakeError, match="has 33 channels: takes of at most 32 can be judged"):
            source.open()
        return
    assert source.open().remark == ("" if channels == 1 else f"{channels} channels: judging channel 1")
    source.close()


@pytest.mark.parametrize(("channel", "fine"), [(0, False), (1, True), (3, True), (4, False)])
def test_only_a_channel_that_is_there_is_judged(tmp_path: Path, channel: int, fine: bool) -> None:
    path = tmp_path / "three.wav"
    soundfile.write(path, np.array([[0.1, 0.2, 0.3]] * 10), 48_000, subtype="FLOAT")
    source = SoundFile(path, channel=channel)
    if not fine:
        with pytest.raises(TakeError, match=f"has no channel {channel}: choose 1 to 3"):
            source.open()
        return
    source.open()
    block = source.read()
    source.close()
    assert block is not None
    assert block.samples == pytest.approx(0.1 * channel)


def chunk(name: bytes, content: bytes, order: str = "<") -> bytes:
    return name + struct.pack(f"{order}I", len(content)) + content + b"\0" * (len(content) % 2)


def wav(
    tag: int, *, before: int = 0, odd: int = 0, sub: int = 1, head: bytes = b"RIFF", data_first: bool = False
) -> bytes:
    """A WAV of 16 bits with a format tag, behind other chunks of an odd length."""
    order = ">" if head == b"RIFX" else "<"
    layout = struct.pack(f"{order}HHIIHH", tag, 1, 48_000, 96_000, 2, 16)
    if tag == 0xFFFE:
        guid = struct.pack(f"{order}H", sub) + bytes.fromhex("000000001000800000aa00389b71")
        layout += struct.pack(f"{order}HHI", 22, 16, 4) + guid
    others = b"".join(chunk(b"junk", b"\1" * odd, order) for _ in range(before))
    parts = [chunk(b"fmt ", layout, order), chunk(b"data", struct.pack(f"{order}8h", *[8192] * 8), order)]
    body = b"WAVE" + others + b"".join(parts[::-1] if data_first else parts)
    return head + struct.pack(f"{order}I", len(body)) + body


@pytest.mark.parametrize(
    "content",
    [
        wav(1),
        wav(1, before=1, odd=3),
        wav(1, before=3, odd=5),
        wav(1, before=63, odd=2),
        wav(0xFFFE),
        wav(1, head=b"RIFX"),
    ],
    ids=["plain", "behind an odd chunk", "behind three", "behind 63", "extensible", "the other byte order"],
)
def test_a_wav_is_known_wherever_its_format_stands(tmp_path: Path, content: bytes) -> None:
    """Tags: 1 integers, 0xFFFE "look in the sub-format" (EBU Tech 3306 and RIFF, from memory)."""
    path = tmp_path / "take.wav"
    path.write_bytes(content)
    source = SoundFile(path)
    source.open()
    block = source.read()
    source.close()
    assert block is not None
    assert block.samples.tolist() == [0.25] * 8


@pytest.mark.parametrize(
    "content",
    [
        wav(2), wav(6), wav(0xFFFE, sub=7), wav(1, before=64, odd=2), wav(1, head=b"RIFF", data_first=True),
        wav(1, head=b"FORM"), wav(1)[:11], wav(1)[:15], b"RIFF\0\0\0\0AVI " + wav(1)[12:],
    ],
    ids=[
        "ADPCM", "A-law", "extensible mu-law", "behind 64 chunks", "sound before format", "another form", "cut",
        "cut in a chunk", "another RIFF",
    ],
)  # fmt: skip
def test_what_is_no_wav_of_plain_numbers_never_reaches_a_decoder(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "take.wav"
    path.write_bytes(content)
    with pytest.raises(TakeError, match="is no sound file that can be read: give a WAV or FLAC file"):
        SoundFile(path).open()


@pytest.mark.parametrize(
    ("loudest", "remark"), [(1.0, None), (-1.0, None), (2.0, "goes 2 times beyond"), (-4.0, "goes 4 times beyond")]
)
@pytest.mark.parametrize("kind", ["FLOAT", "DOUBLE"])
def test_a_take_of_floats_is_brought_to_full_scale_and_no_further(
    tmp_path: Path, kind: str, loudest: float, remark: str | None
) -> None:
    path = tmp_path / "loud.wav"
    soundfile.write(path, np.array([0.5, loudest, np.nan, 0.25]), 48_000, subtype=kind)
    source = SoundFile(path)
    source.open()
    block = source.read()
    source.close()
    assert block is not None
    scale = max(1.0, abs(loudest))
    assert block.samples == pytest.approx(np.array([0.5, loudest, (loudest + 0.25) / 2, 0.25]) / scale)
    said = " ".join(source.remarks)
    assert "has 1 samples that are not numbers" in said
    assert (remark in said) if remark else ("beyond full scale" not in said)


def edges(*keys: tuple[float, str], until_s: float = 60.0, count: int = 4) -> list[tuple[float, int, bool]]:
    found: list[tuple[float, int, bool]] = []
    presses = Presses(lambda at_s, switch, down: found.append((round(at_s, 6), switch, down)), count)
    for at_s, letter in keys:
        presses.pass_time(at_s)
        presses.type_letter(at_s, letter)
    presses.pass_time(until_s)
    assert presses.next_due_s is None
    return found


@pytest.mark.parametrize(("gap_s", "ups_s"), [(0.119, [0.239]), (0.121, [0.12, 0.36])])
def test_a_tap_typed_again_while_it_is_down_is_a_key_that_is_held(gap_s: float, ups_s: list[float]) -> None:
    assert [at_s for at_s, _, down in edges((0.0, "a"), (gap_s, "a")) if not down] == ups_s


@pytest.mark.parametrize(("gap_s", "presses"), [(REPEAT_S, 1), (REPEAT_S + 0.005, 2)])
def test_a_letter_that_waits_is_not_repeated_by_a_held_key(gap_s: float, presses: int) -> None:
    found = edges((0.0, "b"), (0.0, "a"), (gap_s, "a"))
    assert [switch for _, switch, down in found if down] == [1, 2, *[1] * presses]


@pytest.mark.parametrize(("at_s", "presses"), [(ANSWERED_S - 0.01, 1), (ANSWERED_S + 0.01, 2)])
def test_a_long_press_that_was_answered_is_over(at_s: float, presses: int) -> None:
    found = edges((0.0, "A"), (at_s, "A"))
    assert sum(down for _, _, down in found) == presses
    assert found[-1][0] == pytest.approx(at_s + LONG_S if presses == 1 else LONG_S + GAP_S + LONG_S)


@pytest.mark.parametrize(("held_s", "last_s"), [(1.0, 1.9), (3.0, 3.9)])
def test_a_key_held_long_is_one_press_until_it_is_let_go(held_s: float, last_s: float) -> None:
    found = edges(*((step * 0.05, "A") for step in range(round(held_s / 0.05) + 1)))
    assert [(switch, down) for _, switch, down in found] == [(1, True), (1, False)]
    assert found[-1][0] == pytest.approx(last_s)


def test_of_keys_typed_without_end_the_first_sixteen_wait() -> None:
    found = edges((0.0, "b"), *((0.001 * step, "sa"[step % 2]) for step in range(1, 40)))
    assert sum(down for _, _, down in found) == 2 + MOST_WAITING


def test_what_stays_down_is_never_due_and_both_go_up_at_the_end() -> None:
    found: list[tuple[float, int, bool]] = []
    presses = Presses(lambda *edge: found.append(edge), 2)
    presses.type_letter(1.0, STAY)
    presses.type_letter(1.0, "b")
    assert presses.next_due_s is None
    presses.pass_time(1000.0)
    presses.type_letter(1000.0, STAY)
    presses.type_letter(1000.0, "a")
    assert found == [(1.0, 1, True), (1.0, 2, True), (1000.0, 1, False)]
    presses.let_all_go(1001.0)
    assert found[-1] == (1001.0, 2, False)
    assert presses.next_due_s is None


@pytest.mark.parametrize(("letter", "pressed"), [("b", [1]), ("B", [1]), ("1", [1]), ("s", []), ("2", [])])
def test_a_pedal_with_one_switch_has_no_second(letter: str, pressed: list[int]) -> None:
    assert [switch for _, switch, down in edges((0.0, letter), count=1) if down] == pressed


@pytest.mark.parametrize("page", [0, 3, 7])
@pytest.mark.parametrize(("gap", "joined"), [(1, True), (JOIN_COLUMNS, True), (JOIN_COLUMNS + 1, False)])
def test_runs_are_joined_over_ten_columns_and_not_over_eleven(page: int, gap: int, joined: bool) -> None:
    old = np.zeros((8, 128), np.uint8)
    new = old.copy()
    new[page, [0, gap, 127]] = 1
    near = [Run(page, 0, gap)] if joined else [Run(page, 0, 0), Run(page, gap, gap)]
    assert changed_runs(old, new) == [*near, Run(page, 127, 127)]


def test_the_end_of_one_page_and_the_beginning_of_the_next_are_two_runs() -> None:
    old = np.zeros((2, 128), np.uint8)
    new = old.copy()
    new[0, 127] = new[1, 0] = 1
    assert changed_runs(old, new) == [Run(0, 127, 127), Run(1, 0, 0)]


@pytest.mark.parametrize(
    ("dac_s", "delay_s"), [(10.0, 0.0), (9.999, 0.0), (10.5, 0.5), (10.0 + MOST_DELAY_S, 2.0), (12.1, 0.0)]
)
def test_a_delay_is_believed_from_none_to_two_seconds(dac_s: float, delay_s: float) -> None:
    assert _delay_of({"output_buffer_dac_time": dac_s, "current_time": 10.0}) == delay_s


@pytest.mark.parametrize(
    ("asked", "default", "first"),
    [
        (48_000, 48_000, [48_000, 44_100, 32_000]),
        (48_000, 47_999, [48_000, 47_999, 44_100]),
        (30_000, 44_100, [30_000, 32_000, 22_050]),
        (96_000, 44_100, [96_000, 88_200, 176_400]),
    ],
)
def test_rates_are_tried_by_their_ratio_the_asked_one_first_and_none_twice(
    asked: int, default: int, first: list[int]
) -> None:
    rates = nearest_rates(asked, default)
    assert rates[:3] == first
    assert sorted(rates) == sorted({*COMMON_RATES, asked, default})


@pytest.mark.parametrize(
    ("name", "lasting"),
    [
        ("USB Audio: - (hw:1,0)", "USB Audio: -"),
        ("Loopback: PCM (hw:1,1)", "Loopback: PCM (hw:,1)"),
        ("Loopback: PCM (hw:12,10)", "Loopback: PCM (hw:,10)"),
        ("default", "default"),
        ("a (hw:1,0) in the middle", "a (hw:1,0) in the middle"),
    ],
)
def test_a_name_lasts_without_the_number_of_its_card(name: str, lasting: str) -> None:
    assert lasting_name(name) == lasting


@pytest.mark.parametrize("suspicious_s", [0.02, 0.1])
@pytest.mark.parametrize(("over", "missed"), [(0, False), (1, True)])
def test_one_sample_more_than_the_suspicion_is_missed(suspicious_s: float, over: int, missed: bool) -> None:
    rate = 1000
    clock = SampleClock(rate, suspicious_s=suspicious_s)
    for tenth in range(8):  # a look each tenth of a second: all that is due was delivered
        assert clock.missing(tenth / 8, waiting=0) == 0
        clock.deliver(125)
    most = round(suspicious_s * rate) + over
    assert clock.missing(1.0, waiting=-most) == (most if missed else 0)
    assert clock.lose(1.0, waiting=-most) == (most if missed else 0)
    assert clock.missing(1.0, waiting=0) == 0


@pytest.mark.parametrize(("at_s", "missed"), [(0.499, 0), (0.5, 100)])
def test_a_stream_settles_for_half_a_second(at_s: float, missed: int) -> None:
    clock = SampleClock(1000)
    assert clock.missing(0.0, waiting=0) == 0
    assert clock.missing(at_s, waiting=round(1000 * at_s) - 100) == missed


@pytest.mark.parametrize(
    ("samples", "block", "periods"), [(1, 128, 2), (128, 128, 2), (129, 128, 3), (24_000, 128, 189)]
)
def test_room_is_asked_for_in_whole_periods_and_all_is_put_back(
    monkeypatch: pytest.MonkeyPatch, samples: int, block: int, periods: int
) -> None:
    asked: list[int] = []
    facts = _Facts(version=2, low_input_latency_s=0.008)

    class Called:
        def __init__(self, answer) -> None:
            self.answer = answer

        def __call__(self, argument):
            return self.answer(argument)

    class Pointer:
        contents = facts

    class Portaudio:
        Pa_GetDeviceInfo = Called(lambda _: Pointer())
        PaAlsa_SetNumPeriods = Called(asked.append)

    monkeypatch.setattr("hw.driver_room.ctypes.CDLL", lambda _: Portaudio)
    with room(0, samples=samples, block_samples=block, rate_hz=48_000) as there:
        assert there
        assert facts.low_input_latency_s == pytest.approx(max(0.008, samples / 48_000))
    assert asked == [periods, 4]
    assert facts.low_input_latency_s == 0.008
    with room(0, samples=0, block_samples=block, rate_hz=48_000) as there:
        assert not there


class OneInput:
    """As much of PortAudio as it takes to look for a device."""

    def get_device_count(self) -> int:
        return 1

    def get_device_info_by_index(self, index: int) -> dict[str, object]:
        return {"index": index, "name": "guitar", "maxInputChannels": 1, "maxOutputChannels": 0}


@pytest.mark.parametrize(("wanted", "found"), [("0", True), ("00", True), (0, True), ("1", False), ("9" * 5000, False)])
def test_a_device_is_found_by_any_number_and_an_endless_one_is_refused(wanted: str | int, found: bool) -> None:
    if found:
        assert find_device(OneInput(), wanted, "input")["name"] == "guitar"  # type: ignore[arg-type]
        return
    with pytest.raises(DeviceError, match="no audio input is called"):
        find_device(OneInput(), wanted, "input")  # type: ignore[arg-type]
