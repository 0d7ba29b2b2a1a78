"""`undertoe demo`: the whole pedal without hardware, judged against what its own score says of every note."""

from __future__ import annotations

import contextlib
import functools
import io
import json
import sqlite3
import subprocess
import sys
import tempfile
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

import pedal.cli.demo
from pedal.cli.entry import main
from pedal.live.performing import BLOCK_SAMPLES, SAMPLE_RATE, Performance, blocks_of
from pedal.log import StoreReader
from pedal.modes.state import PedalState
from pedal.practice.course import MINUTES
from pedal.synth.drills import KEY, SCENES
from pedal.synth.scene import Scene
from pedal.synth.twelve_bars import twelve_bars

DEMO_MINUTES = 5
"""Written out, and not taken from the code, so that a change of it is seen."""
LOGGED = "curl"
"""The mode whose performance is kept in a log as well."""


def heard(*words: str) -> tuple[list[dict[str, Any]], str]:
    """What a demo prints of its notes, and what it says beside them."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        assert main(["demo", "--headless", "--json", "--fast", *words]) == 0
    return [json.loads(line) for line in out.getvalue().splitlines()], err.getvalue()


@functools.cache
def demo_of(mode: str) -> tuple[list[dict[str, Any]], str, list[str]]:
    """A performance, played once for all who look at it: its notes, what was said, and the verdicts in its log."""
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder, "log.sqlite")
        lines, said = heard("--mode", mode, *(("--log", str(log)) if mode == LOGGED else ()))
        if mode != LOGGED:
            return lines, said, []
        with contextlib.closing(sqlite3.connect(log)) as kept:
            return lines, said, [word for (word,) in kept.execute("SELECT verdict FROM log ORDER BY number")]


@pytest.mark.parametrize("mode", [mode for mode in SCENES if mode not in ("round", "recall")])
def test_the_verdicts_are_those_of_the_score(mode: str) -> None:
    assert_as_the_score_says(SCENES[mode](), demo_of(mode)[0])


@pytest.mark.parametrize("strokes", [6, pytest.param(None, marks=pytest.mark.wide)])
def test_the_verdicts_of_recall_are_those_of_the_score(monkeypatch: pytest.MonkeyPatch, strokes: int | None) -> None:
    """Its twelve bars are those of Watch, which are played above to their end: a few of them, and then the foot."""
    scene = SCENES["recall"]()
    if strokes is not None:
        few = scene.strokes[:strokes]
        (foot,) = scene.footsteps
        end_s = few[-1].end_s + 0.5
        scene = replace(scene, strokes=few, footsteps=(replace(foot, at_s=end_s),), length_s=end_s + 3.0)
    monkeypatch.setitem(SCENES, "recall", lambda: scene)
    assert_as_the_score_says(scene, heard("--mode", "recall")[0])


def assert_as_the_score_says(scene: Scene, lines: list[dict[str, Any]]) -> None:
    strokes = scene.strokes
    lines = [line for line in lines if line["begun_by"] == "pluck"]
    assert len(lines) == len(strokes)
    wrong = []
    for stroke, line in zip(strokes, lines, strict=True):
        expected = stroke.expected
        assert line["onset_s"] == pytest.approx(stroke.at_s, abs=0.06)
        if line["kind"] != expected.kind or (expected.verdict not in (None, line["verdict"])):
            wrong.append((stroke.at_s, expected.kind, expected.verdict, line["kind"], line["verdict"]))
        if expected.error_cents is not None:
            assert line["error_cents"] == pytest.approx(expected.error_cents, abs=5.0), (stroke.at_s, line)
    assert not wrong


def test_it_ends_with_a_summary() -> None:
    _, said, _ = demo_of("curl")
    assert said.splitlines()[-1].startswith("undertoe: 10 notes: ")


def test_every_screen_is_saved_and_filmed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    film = tmp_path / "ladder.gif"
    assert main(["demo", "--mode", "ladder", "--fast", "--png", str(tmp_path / "shots"), "--gif", str(film)]) == 0
    pictures = sorted((tmp_path / "shots").glob("screen-*.png"))
    assert len(pictures) > 50
    with Image.open(film) as moving:
        assert getattr(moving, "n_frames", 1) > 50
    assert "10 notes" in capsys.readouterr().err


def test_a_film_of_no_known_kind_is_not_called_done(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    film = tmp_path / "film.xyz"
    assert main(["demo", "--mode", "curl", "--fast", "--gif", str(film)]) == 2
    assert not film.exists()
    sentences = [line for line in capsys.readouterr().err.splitlines() if "film.xyz" in line]
    assert len(sentences) == 1
    assert "the name must end in .gif" in sentences[0]


def test_a_folder_that_cannot_be_written_ends_it_at_once(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert main(["demo", "--fast", "--png", str(tmp_path / "file")]) == 1
    assert "cannot save pictures here" in capsys.readouterr().err


@pytest.mark.usefixtures("two_curls")
@pytest.mark.parametrize(
    ("option", "place", "told"),
    [("--png", "/proc/self", "cannot save pictures here"), ("--log", "/proc/self", "/proc/self is no file")],
)
def test_what_was_asked_for_and_not_written_is_no_success(
    capsys: pytest.CaptureFixture[str], option: str, place: str, told: str
) -> None:
    assert main(["demo", "--mode", "curl", "--fast", "--headless", option, place]) == 1
    last = capsys.readouterr().err.splitlines()[-1]
    assert told in last


def test_without_a_terminal_it_says_what_else_to_ask_for() -> None:
    command = [sys.executable, "-m", "pedal.cli.entry", "demo"]
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL)
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "add --headless or --png" in done.stderr


def test_verdicts_are_logged() -> None:
    lines, _, logged = demo_of(LOGGED)
    assert logged == [line["verdict"] for line in lines]
    assert len(logged) == 10


def test_blocks_come_when_their_time_has_come() -> None:
    """Paced against the start: a late block is followed by ones that are on time, not by a lasting lag."""
    now, slept = [100.0], []

    def sleep(seconds: float) -> None:
        slept.append(seconds)
        now[0] += seconds

    performance = Performance(blocks_of(twelve_bars()), paced=True, clock=lambda: now[0], sleep=sleep)
    performance.open()
    for _ in range(50):
        performance.read()
    now[0] += 0.05  # somebody held us up for nineteen blocks
    for _ in range(50):
        performance.read()
    assert now[0] == pytest.approx(100.0 + 100 * BLOCK_SAMPLES / SAMPLE_RATE)
    assert all(seconds > 0 for seconds in slept)


def test_the_same_demo_every_time() -> None:
    def first_second() -> bytes:
        performance = Performance(blocks_of(twelve_bars()), paced=False)
        performance.open()
        blocks = [performance.read() for _ in range(375)]
        return b"".join(block.samples.tobytes() for block in blocks if block is not None)

    assert first_second() == first_second()


def test_the_round_of_the_demo_is_the_shortest_there_is() -> None:
    assert pedal.cli.demo.DEMO_MINUTES == min(MINUTES) == DEMO_MINUTES


@pytest.mark.parametrize("minutes", [2, pytest.param(DEMO_MINUTES, marks=pytest.mark.wide)])
def test_a_round_is_played_by_what_it_asks(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, minutes: int) -> None:
    """The whole pedal, sound included: force rises within each part, heavy bends keep apart, and it ends in time.

    Two minutes hold each part of a Round already; five cost as much as all the other performances together.
    """
    monkeypatch.setattr(pedal.cli.demo, "DEMO_MINUTES", minutes)
    log = tmp_path / "log.sqlite"
    lines, _ = heard("--mode", "round", "--log", str(log))
    kinds = [line["kind"] for line in lines]
    assert kinds[:6] == ["steady"] * 6, "it begins easy"
    assert {"curl", "bend", "prebend"} <= set(kinds)
    assert 60 * minutes - 15 <= lines[-1]["end_s"] <= 60 * minutes + 15
    with StoreReader(log) as reader:
        entries = list(reader.entries(reader.sessions()[0].id))
    place = PedalState(key=KEY)
    assert {entry.mode for entry in entries} == {"round"}
    for skill, run in groupby(entries, key=lambda e: "pre" if e.verdict.kind.startswith("pre") else e.verdict.kind):
        if skill == "bend":
            forces = [next(r.force_n for r in place.rungs() if (r.string, r.fret) == (e.string, e.fret))
                      for e in run if e.target_note in {r.target for r in place.rungs()}]  # fmt: skip
            assert forces == sorted(forces)
