"""`undertoe read`, through the real command: what it says of good takes, and of every kind of bad one."""

from __future__ import annotations

import json
import os
import sqlite3
import struct
import subprocess
import sys
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from pedal.cli.entry import main
from pedal.verdicts.verdict import Verdict
from tests.live.true_bend import KEY, RATE, a_true_bend, write

Read = Callable[..., tuple[int, list[dict[str, Any]], list[str]]]


@pytest.fixture
def read(capsys: pytest.CaptureFixture[str]) -> Read:
    """Status, verdict lines and complaints of `undertoe read FILE --key ... --json WORDS`."""

    def run(file: Path, *words: str) -> tuple[int, list[dict[str, Any]], list[str]]:
        status = main(["read", str(file), "--key", KEY, "--json", *words])
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return status, [json.loads(line) for line in said.out.splitlines()], said.err.splitlines()

    return run


def assert_a_true_bend(lines: list[dict[str, Any]], *, within_cents: float = 3.0) -> None:
    assert [(line["kind"], line["rest_note"], line["target_note"], line["verdict"]) for line in lines] == [
        ("bend", "C4", "D4", "true")
    ]
    assert abs(lines[0]["error_cents"]) < within_cents


SUBTYPES = [
    ("WAV", "PCM_U8"), ("WAV", "PCM_16"), ("WAV", "PCM_24"), ("WAV", "PCM_32"), ("WAV", "FLOAT"), ("WAV", "DOUBLE"),
    ("WAVEX", "PCM_16"), ("WAVEX", "PCM_24"), ("WAVEX", "FLOAT"), ("FLAC", "PCM_16"), ("FLAC", "PCM_24"),
    ("RF64", "PCM_16"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "subtype"), SUBTYPES)
def test_a_take_of_every_kind_gives_the_same_verdict(read: Read, tmp_path: Path, kind: str, subtype: str) -> None:
    status, lines, said = read(write(tmp_path / "take", a_true_bend(), subtype=subtype, kind=kind))
    assert (status, said) == (0, [])
    assert_a_true_bend(lines)


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 44_100, 48_000, 88_200, 96_000, 192_000])
def test_a_take_of_every_rate_gives_the_same_verdict(read: Read, tmp_path: Path, rate: int) -> None:
    status, lines, said = read(write(tmp_path / "take.wav", a_true_bend(rate=rate), rate=rate))
    assert (status, said) == (0, [])
    assert_a_true_bend(lines, within_cents=5.0)
    assert lines[0]["onset_s"] == pytest.approx(0.3, abs=0.02)


@pytest.mark.parametrize("channel", [1, 2, 6])
def test_a_channel_is_chosen_and_said(read: Read, tmp_path: Path, channel: int) -> None:
    samples = np.zeros((len(a_true_bend()), 6), np.float32)
    samples[:, channel - 1] = a_true_bend()
    status, lines, said = read(write(tmp_path / "take.wav", samples), "--channel", str(channel))
    assert (status, said) == (0, [f"undertoe: 6 channels: judging channel {channel}"])
    assert_a_true_bend(lines)


def test_every_field_of_the_contract_is_there_in_its_order(read: Read, tmp_path: Path) -> None:
    _, lines, _ = read(write(tmp_path / "take.wav", a_true_bend()))
    assert list(lines[0]) == [field.name for field in fields(Verdict) if field.name != "trace"]
    assert lines[0]["degree"] == "4"
    assert lines[0]["ending"] == "cut_sharp"
    assert lines[0]["vibrato_hz"] == lines[0]["vibrato_cents"] == 0


def cut_short(file: Path, share: float) -> Path:
    raw = file.read_bytes()
    file.write_bytes(raw[: round(len(raw) * share)])
    return file


@pytest.mark.parametrize(("kind", "suffix"), [("WAV", "wav"), ("FLAC", "flac")])
def test_a_take_that_ends_early_is_judged_as_far_as_it_goes(read: Read, tmp_path: Path, kind: str, suffix: str) -> None:
    samples = np.concatenate([a_true_bend(), np.random.default_rng(1).normal(0, 0.001, 4 * RATE)])
    file = cut_short(write(tmp_path / f"take.{suffix}", samples, kind=kind), 0.8)
    status, lines, said = read(file)
    assert (status, said) == (0, [f"undertoe: {file} ends early: what it holds was judged"])
    assert_a_true_bend(lines)


def test_a_take_cut_off_in_the_middle_of_its_bend_judges_what_sounded(read: Read, tmp_path: Path) -> None:
    status, lines, said = read(cut_short(write(tmp_path / "take.wav", a_true_bend()), 0.6))
    assert status == 0
    assert len(said) == 1
    assert [line["rest_note"] for line in lines] == ["C4"]


def test_a_wav_that_was_never_closed_is_read_to_its_end(read: Read, tmp_path: Path) -> None:
    """A recorder that lost its power leaves the length at its largest value."""
    file = write(tmp_path / "take.wav", a_true_bend())
    raw = bytearray(file.read_bytes())
    at = raw.index(b"data") + 4
    raw[at : at + 4] = struct.pack("<I", 0xFFFFFFFF)
    file.write_bytes(raw)
    status, lines, said = read(file)
    assert (status, said) == (0, [f"undertoe: {file} ends early: what it holds was judged"])
    assert_a_true_bend(lines)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("subtype", ["FLOAT", "DOUBLE"])
def test_samples_that_are_not_numbers_are_bridged_and_counted(
    read: Read, tmp_path: Path, value: float, subtype: str
) -> None:
    samples = a_true_bend()
    samples[20_000:60_000:997] = value
    file = write(tmp_path / "take.wav", samples, subtype=subtype)
    status, lines, said = read(file)
    assert (status, said) == (0, [f"undertoe: {file} has 41 samples that are not numbers: they were bridged"])
    assert_a_true_bend(lines, within_cents=5.0)


def test_a_take_of_nothing_but_not_numbers_is_silence(read: Read, tmp_path: Path) -> None:
    status, lines, said = read(write(tmp_path / "take.wav", np.full(RATE, np.nan), subtype="FLOAT"))
    assert (status, lines) == (0, [])
    assert "not numbers" in said[0]
    assert "is silent" in said[1]


def test_a_constant_offset_changes_no_verdict(read: Read, tmp_path: Path) -> None:
    status, lines, said = read(write(tmp_path / "take.wav", a_true_bend() + 0.4))
    assert (status, said) == (0, [])
    assert_a_true_bend(lines)


def test_a_clipped_take_is_judged(read: Read, tmp_path: Path) -> None:
    status, lines, said = read(write(tmp_path / "take.wav", np.clip(a_true_bend() * 20, -1, 1)))
    assert (status, said) == (0, [])
    assert_a_true_bend(lines, within_cents=5.0)


@pytest.mark.parametrize("gain", [32_768.0, 1e30, 1e300])
def test_a_take_beyond_full_scale_is_scaled_down(read: Read, tmp_path: Path, gain: float) -> None:
    """A program that forgot to divide by 32768, and worse."""
    samples = a_true_bend().astype(np.float64) * gain
    status, lines, said = read(write(tmp_path / "take.wav", samples, subtype="DOUBLE"))
    assert status == 0
    assert len(said) == 1
    assert "times beyond full scale: it was scaled down" in said[0]
    assert_a_true_bend(lines)


def test_a_silent_take_says_so(read: Read, tmp_path: Path) -> None:
    file = write(tmp_path / "take.wav", np.zeros(RATE))
    assert read(file) == (0, [], [f"undertoe: channel 1 of {file} is silent: no note was heard"])


def test_a_silent_channel_points_to_the_others(read: Read, tmp_path: Path) -> None:
    file = write(tmp_path / "take.wav", np.stack([np.zeros(RATE), np.full(RATE, 0.1)], axis=1))
    status, lines, said = read(file)
    assert (status, lines) == (0, [])
    assert said[-1].endswith("is silent: no note was heard; it has 2 channels, choose another")


def test_a_take_of_noise_has_no_note(read: Read, tmp_path: Path) -> None:
    file = write(tmp_path / "take.wav", np.random.default_rng(2).normal(0, 0.002, 2 * RATE))
    assert read(file) == (0, [], [f"undertoe: no note was heard in {file}"])


REFUSED: dict[str, tuple[Callable[[Path], object], str]] = {
    "an empty file": (lambda f: f.write_bytes(b""), "is empty: record it again"),
    "a header without samples": (lambda f: write(f, np.zeros(0), kind="WAV"), "holds no samples: record it again"),
    "text": (lambda f: f.write_text("la la la\n" * 99), "is no sound file that can be read: give a WAV or FLAC file"),
    "random bytes": (lambda f: f.write_bytes(np.random.default_rng(1).bytes(4096)), "is no sound file"),
    "half a header": (lambda f: f.write_bytes(b"RIFF\xff\xff\x00\x00WAVEfmt "), "is no sound file"),
    "a folder": (lambda f: f.mkdir(), "cannot be read: Is a directory"),
    "nothing at all": (lambda _: None, "cannot be read: No such file or directory; check the name"),
    "a loop of links": (lambda f: f.symlink_to(f), "cannot be read: Too many levels of symbolic links"),
    "a thousand channels": (
        lambda f: write(f, np.zeros((99, 1000)), kind="WAV"),
        "has 1000 channels: takes of at most 32 can be judged",
    ),
    "a rate too low": (
        lambda f: write(f, np.zeros(99), rate=4000, kind="WAV"),
        "has 4000 samples a second: takes from",
    ),
    "a rate too high": (lambda f: write(f, np.zeros(99), rate=384000, kind="WAV"), "has 384000 samples a second"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_judged_is_refused_in_one_sentence(read: Read, tmp_path: Path, name: str) -> None:
    file = tmp_path / "take.wav"
    make, sentence = REFUSED[name]
    make(file)
    status, lines, said = read(file)
    assert (status, lines) == (1, [])
    assert len(said) == 1
    assert said[0].startswith(f"undertoe: {file} ")
    assert sentence in said[0]


@pytest.mark.parametrize("channel", ["0", "-1", "3"])
def test_a_channel_that_is_not_there_is_refused(read: Read, tmp_path: Path, channel: str) -> None:
    file = write(tmp_path / "take.wav", np.zeros((99, 2)))
    assert read(file, f"--channel={channel}") == (
        1, [], [f"undertoe: {file} has no channel {channel}: choose 1 to 2"],
    )  # fmt: skip


BAD_WORDS = {
    "an unknown note": (["--key", "H minor"], "--key: 'H minor' is no key"),
    "an unknown scale": (["--key", "G hungarian"], "--key: "),
    "a concert pitch of nothing": (["--a4", "0"], "--a4: 0 Hz is no concert pitch: give 400 to 480"),
    "a negative concert pitch": (["--a4=-440"], "--a4: -440 Hz is no concert pitch"),
    "a concert pitch that is no number": (["--a4", "nan"], "--a4: nan Hz is no concert pitch"),
    "an unknown mode": (["--mode", "polka"], "argument --mode: invalid choice: 'polka'"),
    "a picture of another kind": (["--plot", "take.bmp"], "--plot take.bmp: the name must end in .png or .svg"),
    "a picture in no folder": (["--plot", "no/take.png"], "--plot no/take.png: there is no folder no"),
    "a shortened option": (["--js"], "unrecognized arguments: --js"),
    "settings that are not there": (["--config", "none.yaml"], "none.yaml"),
}


@pytest.mark.parametrize("name", BAD_WORDS)
def test_bad_usage_ends_with_2_and_a_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    write(tmp_path / "take.wav", a_true_bend())
    words, sentence = BAD_WORDS[name]
    assert main(["read", "take.wav", *words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert sentence in said.err
    assert said.err.startswith("undertoe: ")
    assert said.err.count("\n") == 1


def test_the_table_is_for_eyes(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["read", str(write(tmp_path / "take.wav", a_true_bend())), "--key", KEY]) == 0
    header, row = capsys.readouterr().out.splitlines()
    assert header.split() == ["at", "s", "note", "kind", "to", "height", "c", "error", "c", "held", "s", "ending",
                              "verdict", "why"]  # fmt: skip
    assert row.split()[:4] == ["0.30", "C4", "4", "bend"]
    assert "TRUE" in row


@pytest.mark.parametrize(("suffix", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_the_plot_is_drawn(read: Read, tmp_path: Path, suffix: str, begins: bytes) -> None:
    picture = tmp_path / f"take.{suffix}"
    status, lines, _ = read(write(tmp_path / "take.wav", a_true_bend()), "--plot", str(picture))
    assert status == 0
    assert_a_true_bend(lines)
    assert picture.read_bytes().startswith(begins)


def test_a_plot_without_matplotlib_is_refused_before_the_take_is_read(
    read: Read, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    status, lines, said = read(write(tmp_path / "take.wav", a_true_bend()), "--plot", str(tmp_path / "take.png"))
    assert (status, lines) == (2, [])
    assert said == [f"undertoe: --plot needs matplotlib: {sys.executable} -m pip install matplotlib"]


def test_a_plot_that_cannot_be_written_says_so(read: Read, tmp_path: Path) -> None:
    (tmp_path / "take.png").mkdir()
    status, _, said = read(write(tmp_path / "take.wav", a_true_bend()), "--plot", str(tmp_path / "take.png"))
    assert status == 1
    assert said == [f"undertoe: {tmp_path}/take.png cannot be written: Is a directory."]


def test_verdicts_are_kept_in_a_log(read: Read, tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    assert read(write(tmp_path / "take.wav", a_true_bend()), "--log", str(log))[0] == 0
    with sqlite3.connect(log) as kept:
        rows = kept.execute("SELECT mode, key, rest_note, verdict FROM log").fetchall()
    kept.close()
    assert rows == [("watch", KEY, "C4", "true")]


def test_a_log_that_cannot_be_kept_ends_with_1(read: Read, tmp_path: Path) -> None:
    log = tmp_path / "text"
    log.mkdir()
    status, lines, said = read(write(tmp_path / "take.wav", a_true_bend()), "--log", str(log))
    assert (status, lines) == (1, [])
    assert len(said) == 1


def test_whoever_reads_only_the_first_line_hears_no_complaint(tmp_path: Path) -> None:
    take = write(tmp_path / "take.wav", np.tile(a_true_bend(), 20))
    command = f"{sys.executable} -m pedal.cli.entry read {take} --json | head -n 1"
    done = subprocess.run(command, shell=True, check=False, capture_output=True, text=True, timeout=60)
    assert done.stderr == ""
    assert json.loads(done.stdout)["kind"] == "bend"


def test_a_terminal_without_accidentals_gets_question_marks(tmp_path: Path) -> None:
    take = write(tmp_path / "take.wav", a_true_bend())
    command = [sys.executable, "-m", "pedal.cli.entry", "read", str(take), "--key", "C minor"]
    plain = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run(command, env=plain, check=False, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")


def test_an_hour_is_read_in_the_memory_of_a_minute(tmp_path: Path) -> None:
    """Blocks go by: what is held of a long take is one block of it."""
    from hw.sound_file import SoundFile

    file = tmp_path / "long.wav"
    with soundfile.SoundFile(file, "w", RATE, 1) as long:
        for _ in range(60):
            long.write(np.zeros(RATE, np.int16))
    source = SoundFile(file, channel=1, block_samples=4096)
    source.open()
    lengths = []
    while (block := source.read()) is not None:
        lengths.append(len(block.samples))
        assert block.samples.base is None or block.samples.base.nbytes <= 4 * 4096
    assert sum(lengths) == 60 * RATE == source.total_samples
    assert max(lengths) == 4096
    source.close()
