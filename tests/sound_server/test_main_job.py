"""The main job on real input: a sampled guitar with known bends, through a sound server and a PortAudio stream.

The truth is the pitch wheel. It is told three times: by `undertoe live` as the takes are played, by `undertoe read`
from their files, and the pitches by Praat, a program for phonetics that knows nothing of this one.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tests.sound_server.pedal_process import PedalProcess, is_torn
from tests.sound_server.sampled_guitar import RATE, font, render
from tests.sound_server.server import Recorder, SoundServer, came_whole
from tests.sound_server.stories import BLIND, HALF_STEPS, STORIES, WATCH, Story, Truth

pytestmark = pytest.mark.sound_server
GUITARS = 3
WITHIN_CENTS = 5.0
"""What a player feels: half of the band that calls a bend true."""
START_CENTS = 1.5
"""Another start of the window moves a short rest, and a bend with it: 1.3 cents at most over 16 starts of a take."""
FADING_CENTS = 3.0
"""The last pitch of a note that is choked is read from two or three periods: where a block happens to begin shows."""
TRIES = 6
STRETCH, GAP = 12_000, 8
"""Samples that are looked at together; so many zeros in a row are no tone of this loudness."""
Line = dict[str, Any]


@dataclass(frozen=True)
class Take:
    story: Story
    file: Path
    samples: NDArray[np.float64]
    onsets: list[float]


@pytest.fixture(scope="module")
def takes(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Take]:
    if font() is None:
        pytest.skip("no General MIDI sound font here: install timgm6mb-soundfont")
    folder, made = tmp_path_factory.mktemp("takes"), {}
    for story in STORIES:
        samples, onsets = render([truth.sounded for truth in story.notes], program=story.program)
        file = folder / f"{story.name.replace(' ', '-')}.wav"
        soundfile.write(file, samples, RATE, subtype="PCM_16")
        made[story.name] = Take(story, file, samples, onsets)
    return made


@dataclass(frozen=True)
class Heard:
    """What the live pedal said of a take, and what came out of the speaker meanwhile."""

    lines: list[Line]
    said: str
    speaker: NDArray[np.float64]


def from_the_lowest_string(folder: Path) -> Path:
    """Settings by which Blind asks for the first bend of the position, which the stories play, not for the lightest."""
    file = folder / "undertoe.yaml"
    file.write_text("modes: {ladder: in_order}\n")
    return file


@pytest.fixture(scope="module")
def live(server: SoundServer, takes: dict[str, Take], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Heard]:
    """All takes at once, each on a guitar and a pedal of its own: in real time they would take thrice as long.

    What a busy machine tore before the pedal heard it, or what the pedal says it lost or missed, is played again.
    """
    heard: dict[str, Heard] = {}

    def perform(number: int, take: Take) -> None:
        words = ["--input", f"{server.guitar(number)}_in", "--key", take.story.key, "--mode", take.story.mode]
        folder = tmp_path_factory.mktemp("pedal")
        words += ["--config", str(from_the_lowest_string(folder))]
        with (
            Recorder(server, server.guitar(number)) as guitar,
            PedalProcess(server.environment, folder, *words, "--headless", "--json") as pedal,
        ):
            pedal.until_said("listening to")
            server.play(take.file, number=number)
            pedal.hear_out(len(take.story.notes))  # whether fewer came is judged below
            pedal.stop()
        lines, said, whole = pedal.lines, pedal.said, came_whole(take.file, guitar.samples)
        print(f"{take.story.name}: came whole {whole}, {said!r}")
        if whole and not is_torn(said) and said.count("listening to") == 1:
            heard[take.story.name] = Heard(lines, said, np.zeros(0))

    for _ in range(TRIES):
        todo = [(number, take) for number, take in enumerate(takes.values(), 1) if take.story.name not in heard]
        players = [threading.Thread(target=perform, args=pair) for pair in todo]
        with Recorder(server, "speaker") as speaker:
            for player in players:
                player.start()
            for player in players:
                player.join()
        sounded = speaker.samples / 32768
        for _, take in todo:
            if take.story.name in heard:
                heard[take.story.name] = replace(heard[take.story.name], speaker=sounded)
        if len(heard) == len(takes):
            return heard
    pytest.skip(f"this machine is too busy to play a take whole in {TRIES} tries")


def read(take: Take) -> list[Line]:
    words = ["read", str(take.file), "--key", take.story.key, "--mode", take.story.mode, "--json"]
    command = [sys.executable, "-m", "pedal.cli.entry", *words]
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    assert (done.returncode, done.stderr) == (0, "")
    return [json.loads(line) for line in done.stdout.splitlines()]


def disagreements(truth: Truth, line: Line) -> list[str]:
    """What of the story the line tells otherwise."""
    wrong = [
        f"{name}: {line[name]} in place of {true}"
        for name in ("kind", "rest_note", "target_note", "verdict", "ending")
        if (true := getattr(truth, name)) is not None and line[name] != true
    ]
    for name in ("bend_cents", "error_cents"):
        true = getattr(truth, name)
        if true is not None and (line[name] is None or abs(line[name] - true) > WITHIN_CENTS):
            wrong.append(f"{name}: {line[name]} in place of {true} ± {WITHIN_CENTS}")
    return wrong


def assert_story(story: Story, onsets: list[float], lines: list[Line]) -> None:
    assert len(lines) == len(story.notes), [line["kind"] for line in lines]
    shift_s = lines[0]["onset_s"] - onsets[0]
    for truth, onset_s, line in zip(story.notes, onsets, lines, strict=True):
        assert abs(line["onset_s"] - onset_s - shift_s) < 0.05, f"{truth.kind} at {onset_s:.2f} s: {line['onset_s']}"
        assert not disagreements(truth, line), f"{truth.kind} at {onset_s:.2f} s: {disagreements(truth, line)}"


@pytest.mark.parametrize("name", [story.name for story in STORIES])
def test_the_live_pedal_tells_the_story_of_the_take(live: dict[str, Heard], takes: dict[str, Take], name: str) -> None:
    take = takes[name]
    assert_story(take.story, take.onsets, live[name].lines)


@pytest.mark.parametrize("name", [WATCH.name, HALF_STEPS.name])
def test_reading_the_take_gives_what_the_live_pedal_gave(
    live: dict[str, Heard], takes: dict[str, Take], name: str
) -> None:
    """Word for word, and within what a 16-bit sound server and another start of the window may move."""
    take = takes[name]
    from_file = read(take)
    assert_story(take.story, take.onsets, from_file)
    words = ("kind", "shape", "rest_note", "degree", "target_note", "target_degree", "verdict", "ending")
    assert [[line[word] for word in words] for line in live[name].lines] == [
        [line[word] for word in words] for line in from_file
    ]
    for played, filed in zip(live[name].lines, from_file, strict=True):
        bounds = {"bend_cents": START_CENTS, "error_cents": START_CENTS, "final_cents": FADING_CENTS}
        for figure, within in bounds.items():
            assert played[figure] == pytest.approx(filed[figure], abs=within), (figure, played, filed)


def test_vibrato_is_measured_at_its_rate_and_width(live: dict[str, Heard]) -> None:
    line = live[WATCH.name].lines[9]
    assert line["vibrato_hz"] == pytest.approx(5.5, abs=0.3)
    assert line["vibrato_cents"] == pytest.approx(20.0, rel=0.2)


def unbroken(sound: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """Quarters of a second without a gap, such as a busy machine makes: there the server plays plain zeros."""
    for at in range(0, len(sound) - STRETCH + 1, STRETCH // 2):
        stretch = sound[at : at + STRETCH]
        if np.convolve(stretch == 0.0, np.ones(GAP), "valid").max() < GAP:
            yield stretch


def strongest_hz(stretch: NDArray[np.float64]) -> float:
    """The strongest partial; between the bins by a parabola through the logarithms (J. O. Smith, "Spectral Audio
    Signal Processing", from memory)."""
    power = np.log(np.abs(np.fft.rfft(stretch * np.blackman(len(stretch)), 4 * len(stretch))) + 1e-12)
    top = int(np.argmax(power))
    left, middle, right = power[top - 1 : top + 2]
    return float(top + 0.5 * (left - right) / (left - 2 * middle + right)) * RATE / (4 * len(stretch))


def test_the_drone_sounds_while_blind_is_judged(live: dict[str, Heard]) -> None:
    """Blind asks for a drone. It comes out of the speaker, in tune with A, no louder than -18 dBFS, without a click.

    A busy machine tears gaps into it. What lies between them is judged, wherever it is: no stretch may be out of tune.
    """
    sound = live[BLIND.name].speaker
    loud = np.flatnonzero(np.abs(sound) > 0.003)
    assert len(loud) > RATE, "no drone came out of the speaker"
    assert np.abs(sound).max() <= 10 ** (-18 / 20) + 1 / 32768
    steady = sound[loud[0] + RATE : loud[-1] - RATE]  # without its own fades
    stretches = [stretch for stretch in unbroken(steady) if np.abs(stretch).max() > 0.003]
    assert stretches, "not a quarter of a second of it was whole"
    heard = np.array([strongest_hz(stretch) for stretch in stretches])
    off_cents = (1200 * np.log2(heard / 220.0) + 600) % 1200 - 600
    assert np.abs(off_cents).max() < 5, heard
    # The steepest step of a sum of partials up to 4 kHz at this level; a click is a jump of the level itself.
    steepest = 10 ** (-18 / 20) * 2 * np.pi * 4000 / RATE
    assert max(np.abs(np.diff(stretch)).max() for stretch in stretches) < steepest


def test_a_gap_is_not_judged_and_a_wrong_pitch_is_seen() -> None:
    """The measure itself: a gap in a true tone changes nothing, two cents are told from none."""
    time_s = np.arange(2 * RATE) / RATE
    tone = 0.1 * np.sin(2 * np.pi * 220.0 * time_s)
    torn = np.concatenate([tone[: RATE // 2], np.zeros(1000), tone[RATE // 2 + 333 :]])
    assert len(list(unbroken(torn))) >= 5
    assert all(abs(1200 * np.log2(strongest_hz(stretch) / 220.0)) < 0.2 for stretch in unbroken(torn))
    sharp = 0.1 * np.sin(2 * np.pi * 220.0 * 2 ** (2 / 1200) * time_s)
    assert all(abs(1200 * np.log2(strongest_hz(stretch) / 220.0) - 2) < 0.2 for stretch in unbroken(sharp))


@pytest.mark.parametrize("name", [WATCH.name, HALF_STEPS.name])
def test_praat_hears_the_same_heights(takes: dict[str, Take], name: str) -> None:
    """P. Boersma's autocorrelation method (1993) as Praat has it, over rest and hold of every held bend."""
    parselmouth = pytest.importorskip("parselmouth")
    take, compared = takes[name], []
    pitch = parselmouth.Sound(take.samples, RATE).to_pitch_ac(
        time_step=0.005, pitch_floor=70.0, pitch_ceiling=1200.0, very_accurate=True
    )
    times, hz = pitch.xs(), pitch.selected_array["frequency"]

    def median_hz(from_s: float, to_s: float) -> float:
        return float(np.median(hz[(times > from_s) & (times < to_s) & (hz > 0)]))

    for truth, onset_s, line in zip(take.story.notes, take.onsets, read(take), strict=True):
        legs = truth.sounded.legs
        if truth.bend_cents is None or truth.kind.startswith("prebend") or truth.sounded.shake:
            continue
        (rest_s, _), (rise_s, _), (hold_s, _) = legs[0], legs[1], legs[2]
        top_s = onset_s + rest_s + rise_s
        rest_hz = median_hz(onset_s + rest_s / 2, onset_s + rest_s)
        height = 1200 * np.log2(median_hz(top_s + 0.05, top_s + hold_s - 0.05) / rest_hz)
        compared.append((line["bend_cents"] - height, truth.kind, line["rest_note"]))
    assert len(compared) >= 5
    assert max(abs(difference) for difference, *_ in compared) < 4.0, compared
