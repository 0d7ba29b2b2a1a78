"""Takes: the right samples around each verdict, bounded on the disk, and never a wait for whoever plays."""

from __future__ import annotations

import os
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from pedal.chain import hop_samples
from pedal.takes import TakeKeeper, TakeWriting
from pedal.takes import folder as takes_folder
from pedal.takes.folder import TakesFolder
from pedal.takes.keeper import SoundRing
from pedal.verdicts.verdict import Verdict
from tests.progress.invented_month import CLEAN, notes

RATE = 8000


@pytest.fixture
def a_verdict() -> Verdict:
    """A bend of Bb3 from 2.0 to 3.0 s."""
    note = next(note for note in notes(CLEAN, seed=1) if note.verdict.rest_note == "Bb3")
    return replace(note.verdict, onset_s=2.0, end_s=3.0, verdict="true")


def counted(first: int, last: int) -> np.ndarray:
    """Samples that tell where they stood."""
    return (np.arange(first, last) / 1_000_000).astype(np.float32)


@given(st.lists(st.integers(0, 90), max_size=30), st.integers(-20, 400), st.integers(-20, 400))
def test_the_ring_gives_what_it_was_given_last(lengths: list[int], first: int, last: int) -> None:
    ring, at = SoundRing(100), 0
    for length in lengths:
        ring.push(counted(at, at + length))
        at += length
    begin, end = max(first, at - 100, 0), min(last, at)
    assert ring.cut(first, last).tolist() == counted(begin, max(begin, end)).tolist()


@pytest.fixture
def writing(tmp_path: Path) -> TakeWriting:
    return TakeWriting(tmp_path, most_bytes=10**9)


def written(writing: TakeWriting) -> None:
    """Write what was handed over, as the part of the loop does when it is told to stop."""
    stop = threading.Event()
    stop.set()
    writing.work(stop)


def test_halves_that_power_cuts_left_are_removed_and_nothing_else(tmp_path: Path) -> None:
    half, others = tmp_path / "take-000012-F4-flat.part", tmp_path / "my-own.part"
    half.touch()
    others.touch()
    TakesFolder(tmp_path, sample_rate=RATE, most_bytes=10**9).add(counted(0, 10), "F4-true")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my-own.part", "take-000001-F4-true.wav"]


@given(st.integers(0, 300), st.integers(1, 90))
def test_lost_samples_are_silence_in_their_place(lost: int, after: int) -> None:
    ring = SoundRing(100)
    ring.push(counted(1, 51))
    ring.push(counted(50 + lost, 50 + lost + after), lost_samples=lost)
    assert ring.heard == 50 + lost + after
    there = np.concatenate([counted(1, 51), np.zeros(lost, np.float32), counted(50 + lost, 50 + lost + after)])
    assert ring.cut(0, ring.heard).tolist() == there[-100:].tolist()


@pytest.mark.parametrize("block", [128, 1000, 8000])
def test_a_take_begins_before_the_pluck_and_ends_after_the_note(
    tmp_path: Path, writing: TakeWriting, a_verdict: Verdict, block: int
) -> None:
    keeper = TakeKeeper(writing, sample_rate=RATE)
    sound = np.random.default_rng(3).uniform(-1, 1, 6 * RATE).astype(np.float32)
    for at in range(0, len(sound), block):
        keeper.push(sound[at : at + block])
        if at <= 3.05 * RATE < at + block:
            keeper.verdict(a_verdict)
    keeper.close()
    keeper.close()
    written(writing)
    (path,) = tmp_path.iterdir()
    kept, rate = soundfile.read(path)
    assert (path.name, rate) == ("take-000001-Bb3-true.wav", RATE)
    first = int(1.5 * RATE) // hop_samples(RATE) * hop_samples(RATE)
    assert np.abs(kept - sound[first : int(3.3 * RATE)]).max() <= 1 / 8388607


def test_closing_keeps_what_was_heard_so_far(tmp_path: Path, writing: TakeWriting, a_verdict: Verdict) -> None:
    keeper = TakeKeeper(writing, sample_rate=RATE)
    keeper.push(np.zeros(int(3.1 * RATE), np.float32))
    keeper.verdict(a_verdict)
    keeper.close()
    written(writing)
    (path,) = tmp_path.iterdir()
    assert soundfile.info(path).frames / RATE == pytest.approx(1.6, abs=0.003)


def test_the_oldest_takes_go_and_foreign_files_stay(tmp_path: Path) -> None:
    (tmp_path / "song.wav").write_bytes(bytes(100_000))
    folder = TakesFolder(tmp_path, sample_rate=RATE, most_bytes=100_000)
    for _ in range(9):
        folder.add(np.zeros(10_000, np.float32), "Bb3-true")
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["song.wav", *(f"take-{n:06}-Bb3-true.wav" for n in (7, 8, 9))]


def test_what_is_called_a_take_is_on_the_disk_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Seen on an emulated machine: ext4 kept the name at once and the sound much later, and a cut came between.

    So all of it is forced to the disk before it gets its name (`tests/systemd/power_cuts.sh 20 30 open` shows it).
    """
    forced: list[int] = []
    monkeypatch.setattr(os, "fsync", lambda handle: forced.append(os.fstat(handle).st_size))
    named = Path.replace

    def seen(aside: Path, path: Path) -> Path:
        assert forced == [aside.stat().st_size], "first the sound, then the name"
        return named(aside, path)

    monkeypatch.setattr(Path, "replace", seen)
    take = TakesFolder(tmp_path, sample_rate=RATE, most_bytes=10**6).add(np.zeros(1000, np.float32), "C4-true")
    assert forced == [take.stat().st_size]


def test_numbers_go_on_after_a_restart(tmp_path: Path) -> None:
    for _ in range(2):
        TakesFolder(tmp_path, sample_rate=RATE, most_bytes=10**9).add(np.zeros(10, np.float32), "F#2-flat")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["take-000001-F#2-flat.wav", "take-000002-F#2-flat.wav"]


def test_a_full_disk_is_said_and_the_log_is_spared(
    tmp_path: Path, writing: TakeWriting, a_verdict: Verdict, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(takes_folder, "SPARED_BYTES", 10**18)
    keeper = TakeKeeper(writing, sample_rate=RATE)
    keeper.push(np.zeros(4 * RATE, np.float32))
    keeper.verdict(a_verdict)
    keeper.close()
    written(writing)
    assert writing.remark == "A take cannot be kept: less than 1000000000000 MB are free."
    assert list(tmp_path.iterdir()) == []


def test_a_slow_disk_drops_takes_and_counts_them(
    tmp_path: Path, writing: TakeWriting, a_verdict: Verdict, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = []
    monkeypatch.setattr(TakesFolder, "add", lambda self, samples, words: kept.append(words))
    keeper = TakeKeeper(writing, sample_rate=RATE)
    for _ in range(20):
        keeper.verdict(a_verdict)
    keeper.push(np.zeros(4 * RATE, np.float32))  # while the disk has not taken the first one
    keeper.close()
    written(writing)
    assert (len(kept), writing.dropped) == (8, 12)


def test_a_take_that_fails_over_a_fault_of_ours_is_counted_and_the_next_are_written(
    tmp_path: Path, writing: TakeWriting, a_verdict: Verdict, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, faults = TakesFolder.add, [RuntimeError("ours")]

    def add(self: TakesFolder, samples: np.ndarray, words: str) -> Path:
        if faults:
            raise faults.pop()
        return real(self, samples, words)

    monkeypatch.setattr(TakesFolder, "add", add)
    keeper = TakeKeeper(writing, sample_rate=RATE)
    for _ in range(3):
        keeper.verdict(a_verdict)
    keeper.push(np.zeros(4 * RATE, np.float32))
    with pytest.raises(RuntimeError, match="ours"):
        written(writing)
    written(writing)
    assert (len(list(tmp_path.iterdir())), writing.dropped) == (2, 1)


def test_a_stream_at_another_rate_writes_at_its_rate(tmp_path: Path, writing: TakeWriting, a_verdict: Verdict) -> None:
    for rate in (RATE, 44100):
        keeper = TakeKeeper(writing, sample_rate=rate)
        keeper.push(np.zeros(4 * rate, np.float32))
        keeper.verdict(a_verdict)
        keeper.close()
    written(writing)
    assert [soundfile.info(path).samplerate for path in sorted(tmp_path.iterdir())] == [RATE, 44100]


def test_a_very_long_note_keeps_its_end(tmp_path: Path, writing: TakeWriting, a_verdict: Verdict) -> None:
    keeper = TakeKeeper(writing, sample_rate=RATE)
    for _ in range(50):
        keeper.push(np.zeros(RATE, np.float32))
    keeper.verdict(replace(a_verdict, onset_s=2.0, end_s=49.0))
    keeper.close()
    written(writing)
    (path,) = tmp_path.iterdir()
    assert soundfile.info(path).duration == pytest.approx(30.0, abs=0.003)
