"""What the loop may expect of every audio source: of a sound file, the built-in performance, and a real stream."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from hw.portaudio_input import PortAudioInput
from hw.sound_file import SoundFile
from pedal.errors import DeviceError, TakeError
from pedal.live.performing import Performance, blocks_of
from pedal.ports import AudioSource, Block
from pedal.synth.twelve_bars import twelve_bars
from tests.live.true_bend import a_true_bend, write
from tests.sound_server.server import SoundServer, missing_programs

Make = Callable[[], AudioSource]


@pytest.fixture
def sound_file(tmp_path: Path) -> Make:
    file = write(tmp_path / "take.wav", np.stack([np.zeros(len(a_true_bend())), a_true_bend()], axis=1))
    return lambda: SoundFile(file, channel=2, block_samples=512)


@pytest.fixture
def performance() -> Make:
    return lambda: Performance(blocks_of(twelve_bars()), paced=False)


@pytest.fixture
def stream(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Make]:
    """A guitar at a sound server that somebody plays all the while."""
    if missing_programs():
        pytest.skip(f"no sound server here: {', '.join(missing_programs())} missing")
    take = write(tmp_path / "take.wav", np.tile(a_true_bend(), 4))
    with SoundServer() as server:
        for name in ("PULSE_SERVER", "ALSA_CONFIG_PATH", "PULSE_COOKIE", "PULSE_RUNTIME_PATH"):
            monkeypatch.setenv(name, server.environment[name])
        with server.playing(take):
            yield lambda: PortAudioInput("guitar_in")


@pytest.fixture(params=["sound_file", "performance", pytest.param("stream", marks=pytest.mark.sound_server)])
def make(request: pytest.FixtureRequest) -> Make:
    made: Make = request.getfixturevalue(request.param)
    return made


@pytest.fixture
def source(make: Make) -> Iterator[AudioSource]:
    made = make()
    yield made
    made.close()


def blocks(source: AudioSource, count: int) -> list[Block]:
    return [block for block in (source.read() for _ in range(count)) if block is not None]


def test_its_facts_are_those_of_its_blocks(source: AudioSource) -> None:
    facts = source.open()
    assert facts.sample_rate == 48_000
    assert facts.channel >= 1
    assert facts.device
    heard = blocks(source, 50)
    assert heard
    assert all(len(block.samples) % facts.block_samples == 0 for block in heard)


def test_its_blocks_are_mono_float32_within_full_scale_and_nobody_elses(source: AudioSource) -> None:
    source.open()
    heard = blocks(source, 200)
    assert heard
    for block in heard:
        assert block.samples.dtype == np.float32
        assert block.samples.ndim == 1
        assert np.isfinite(block.samples).all()
        assert np.abs(block.samples).max() <= 1.0
        assert (block.lost_samples, block.overflows) == (0, 0)
    kept = [block.samples.copy() for block in heard]
    blocks(source, 50)
    assert all(np.array_equal(block.samples, copy) for block, copy in zip(heard, kept, strict=True))


def test_what_is_played_comes_out(source: AudioSource) -> None:
    source.open()
    loud = (np.abs(block.samples).max() > 0.05 for block in itertools.islice(iter(source.read, None), 4000))
    assert any(loud)


def test_it_can_be_closed_twice_and_before_it_was_opened(make: Make) -> None:
    source = make()
    source.close()
    source.open()
    assert source.read() is not None, "closing it before it was opened took nothing away"
    source.close()
    source.close()
    another = make()
    another.open()
    assert another.read() is not None, "nor did closing it twice"
    another.close()


def test_a_fresh_one_opens_after_another_was_closed(make: Make) -> None:
    for _ in range(3):
        source = make()
        source.open()
        assert source.read() is not None
        source.close()


@pytest.mark.parametrize(
    ("make_absent", "fault"),
    [
        (lambda: SoundFile(Path("no-such-take.wav")), TakeError),
        pytest.param(lambda: PortAudioInput("no such interface"), DeviceError, marks=pytest.mark.sound_server),
    ],
    ids=["sound file", "stream"],
)
def test_what_is_not_there_is_said_with_its_remedy(make_absent: Make, fault: type[Exception]) -> None:
    source = make_absent()
    with pytest.raises(fault, match=r".+(:|;) "):
        source.open()
    source.close()
