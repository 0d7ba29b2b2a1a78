"""`undertoe lick` and `undertoe read --lick`, through the real command: what is good, and every kind of bad."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from pedal.cli.entry import main
from pedal.cli.lick_pages import heading_of, shelf_page
from pedal.licks.lick import Lick, LickNote
from pedal.licks.text import read_lick, write_lick
from pedal.modes.lick_shelf import KeptLick
from pedal.practice.item import MOST_LICKS
from pedal.synth.drills import lick_of_the_scene
from pedal.synth.lick_sound import sound_of_lick, strokes_of
from pedal.synth.score import PLAIN_GUITAR, play
from pedal.theory.scale import parse_key

RATE = 48_000
KEY = parse_key("G minor pentatonic")
LICK = lick_of_the_scene()
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Status, what was printed and what was complained of; licks are kept in `tmp_path / "state"`."""
    config = tmp_path / "settings.yaml"
    config.write_text(f"state:\n  folder: {tmp_path / 'state'}\n")

    def command(*words: object) -> tuple[int, str, str]:
        status = main([*map(str, words), "--config", str(config)])
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return status, said.out, said.err

    return command


@pytest.fixture
def take(tmp_path: Path) -> Path:
    """Two passes of the lick: a plain one, and one whose fourth note was left out."""
    rng = np.random.default_rng(440)
    first = strokes_of(LICK, at_s=0.5)
    again = strokes_of(LICK, at_s=first[-1].end_s + 2.2, faults={3: "left out"})
    parts = play((*first, *again), PLAIN_GUITAR, sample_rate=RATE, length_s=again[-1].end_s + 1.0, rng=rng)
    soundfile.write(tmp_path / "take.wav", np.concatenate(list(parts)), RATE)
    return tmp_path / "take.wav"


def a_file(tmp_path: Path, lick: Lick = LICK, name: str = "lesson.lick") -> Path:
    (tmp_path / name).write_text(write_lick(lick))
    return tmp_path / name


def test_a_text_is_shown_with_where_it_can_sing(run: Run, tmp_path: Path) -> None:
    status, out, _ = run("lick", a_file(tmp_path))
    assert status == 0
    assert "old gate · G minor pentatonic · 84 beats a minute · 7 notes" in out
    assert "  1  G3    1            4     5   0.50" in out
    assert "note 7: curl B♭3 (♭3), string 3 fret 3: a rest follows: cut it sharp" in out
    assert "bend C4 (4) to D4, string 3 fret 5" in out
    assert "Sung   G3 B♭3~ · C4▸D4 C4 G3 B♭3~" in out


def test_the_object_says_the_same(run: Run, tmp_path: Path) -> None:
    status, out, _ = run("lick", a_file(tmp_path), "--json")
    told = json.loads(out)
    assert status == 0
    assert [note["note"] for note in told["notes"]] == ["G3", "Bb3", "C4", "D4", "C4", "G3", "Bb3"]
    assert {offer["inflection"] for offer in told["offers"]} >= {"curl", "bend"}


def test_a_take_is_learned_kept_listed_and_forgotten(run: Run, take: Path) -> None:
    status, _, err = run("lick", take, "--save", "old gate", "--key", "G minor pentatonic")
    assert status == 0
    assert "the take holds 2 phrases: the lick is the first one" in err
    assert "kept as 1 in" in err
    status, out, _ = run("lick")
    assert status == 0 and out.startswith("  1  old gate")
    status, out, _ = run("lick", "Old Gate", "--json")
    assert [note["note"] for note in json.loads(out)["notes"]] == ["G3", "Bb3", "C4", "D4", "C4", "G3", "Bb3"]
    assert run("lick", "1", "--forget")[0] == 0
    assert "no lick is kept" in run("lick")[1]


def test_a_lick_is_given_away_as_one_file_and_taken_in(run: Run, tmp_path: Path) -> None:
    source = a_file(tmp_path)
    assert run("lick", source, "--save", "mine")[0] == 0
    assert run("lick", "mine", "--out", tmp_path / "lesson2.lick")[0] == 0
    assert read_lick((tmp_path / "lesson2.lick").read_text()).notes == LICK.notes
    assert run("lick", source, "--out", source)[0] == 2


def test_a_kept_lick_is_transposed_where_another_key_is_asked_for(run: Run, tmp_path: Path) -> None:
    status, out, err = run("lick", a_file(tmp_path), "--key", "A minor pentatonic", "--json")
    assert status == 0 and "transposed from G to A" in err
    assert json.loads(out)["notes"][0]["note"] == "A3"


def test_without_mido_a_midi_file_says_what_to_do(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "mido", None)
    assert run("lick", tmp_path / "phrase.mid") == (
        2,
        "",
        f"undertoe: reading MIDI needs mido: {sys.executable} -m pip install mido\n",
    )


def test_a_midi_file_with_pitch_bends_is_a_lick(run: Run, tmp_path: Path) -> None:
    track = mido.MidiTrack()
    for midi in (55, 58, 60):
        track.append(mido.Message("note_on", note=midi))
        if midi == 60:
            track.append(mido.Message("pitchwheel", pitch=8191, time=120))
        track.append(mido.Message("note_off", note=midi, time=360))
        track.append(mido.Message("pitchwheel", pitch=0))
    file = mido.MidiFile(ticks_per_beat=480)
    file.tracks.append(track)
    file.save(tmp_path / "phrase.mid")
    status, out, _ = run("lick", tmp_path / "phrase.mid", "--json")
    assert status == 0
    assert json.loads(out)["notes"][2]["inflection"] == "bend"


def test_it_is_written_as_sound_under_the_ceiling_at_full_and_half_tempo(run: Run, tmp_path: Path) -> None:
    source, lengths = a_file(tmp_path), []
    for words in ((), ("--half",)):
        assert run("lick", source, "--wav", tmp_path / "out.wav", *words)[0] == 0
        samples, _ = soundfile.read(tmp_path / "out.wav")
        assert 0.05 < np.abs(samples).max() <= 10 ** (-12 / 20) + 1e-4
        lengths.append(len(samples) / RATE)
    assert lengths[1] > 1.8 * lengths[0]


def test_the_sound_of_a_lick_is_the_lick(run: Run, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "sound.wav", sound_of_lick(LICK, sample_rate=RATE), RATE)
    _, out, _ = run("lick", tmp_path / "sound.wav", "--json")
    assert [note["note"] for note in json.loads(out)["notes"]] == ["G3", "Bb3", "C4", "D4", "C4", "G3", "Bb3"]


def test_a_take_is_judged_by_passes(run: Run, take: Path, tmp_path: Path) -> None:
    status, out, _ = run("read", take, "--lick", a_file(tmp_path))
    assert status == 0
    assert "pass 1 at 0.50 s, tempo 100 %: 7 of 7" in out
    assert "6 of 7, D4 was left out" in out


def test_a_pass_is_one_object_with_its_notes(run: Run, take: Path, tmp_path: Path) -> None:
    _, out, _ = run("read", take, "--lick", a_file(tmp_path), "--json")
    told = [json.loads(line) for line in out.splitlines()]
    assert [(one["pass"], one["right"], one["of"], one["known"]) for one in told] == [(1, 7, 7, True), (2, 6, 7, True)]
    assert [note["mark"] for note in told[1]["notes"]][3] == "left_out"
    _, out, _ = run("read", take, "--lick", a_file(tmp_path), "--asked", "sung", "--json")
    assert json.loads(out.splitlines()[0])["right"] < 7


def test_model_and_passes_are_drawn_over_each_other(run: Run, take: Path, tmp_path: Path) -> None:
    assert run("read", take, "--lick", a_file(tmp_path), "--plot", tmp_path / "passes.png")[0] == 0
    assert (tmp_path / "passes.png").read_bytes()[:4] == b"\x89PNG"


def test_a_take_of_another_lick_says_so(run: Run, take: Path, tmp_path: Path) -> None:
    other = Lick(tuple(LickNote(m, 0.5) for m in (76, 74, 79, 72)), KEY)
    status, out, err = run("read", take, "--lick", a_file(tmp_path, other))
    assert status == 0
    assert "another phrase" in out
    assert "no pass was this lick: learn it anew" in err


def noise(seconds: float = 2.0) -> np.ndarray:
    return np.random.default_rng(1).normal(size=int(seconds * RATE)) * 0.1


def chord() -> np.ndarray:
    parts = []
    for _ in range(4):
        sounds = [
            sound_of_lick(replace(LICK, notes=(LickNote(m, 1.0), LickNote(m, 1.0))), sample_rate=RATE)
            for m in (55, 59, 62)
        ]
        parts.append(sum(sounds) / 3)
    return np.concatenate(parts)


@pytest.mark.parametrize(
    ("sound", "sentence"),
    [
        (np.zeros(RATE), "no note was heard: play 2 to 24 single notes"),
        (noise(), "take.wav: "),
        (chord(), "had no clear pitch: play single notes"),
        (sound_of_lick(LICK, sample_rate=RATE)[: int(0.45 * RATE)], "a lick of 1 note is none"),
    ],
    ids=["silence", "noise", "chords", "one note"],
)  # fmt: skip
def test_a_take_that_holds_no_lick_is_refused_with_a_sentence(
    run: Run, tmp_path: Path, sound: np.ndarray, sentence: str
) -> None:
    soundfile.write(tmp_path / "take.wav", sound, RATE)
    status, _, err = run("lick", tmp_path / "take.wav", "--save", "x")
    assert (status, sentence in err) == (1, True), err
    assert "no lick is kept" in run("lick")[1]


def test_a_damaged_lick_file_is_named_with_line_and_remedy(run: Run, tmp_path: Path) -> None:
    file = a_file(tmp_path)
    file.write_text(file.read_text().replace("C4", "C4 lots", 1))
    status, _, err = run("lick", file)
    assert status == 1
    assert f"{file}, line 11: 'lots' is no length" in err
    (tmp_path / "state" / "licks").mkdir(parents=True)
    file.rename(tmp_path / "state" / "licks" / "01.lick")
    status, _, err = run("lick")
    assert (status, "line 11" in err) == (1, True)


def test_a_name_that_is_not_there_to_be_read_is_refused_and_printed_harmless(run: Run, tmp_path: Path) -> None:
    """Of a lick from a stick the log's export would leave out every note, and a terminal would obey its name."""
    file = a_file(tmp_path)
    file.write_text(file.read_text().replace("old gate", "old\x1b[2J\u202egate"))
    status, out, err = run("lick", file)
    assert (status, out) == (1, "")
    assert f"{file}, line 2: the name holds what is not there to be read (old?[2J?gate)" in err
    lick = replace(LICK, name="old\x1b[2J\u202egate")
    assert "old?[2J?gate · G minor" in heading_of(lick)
    assert shelf_page([KeptLick(1, lick)]).startswith("  1  old?[2J?gate  ")


def test_one_lick_more_than_fits_is_refused(run: Run, tmp_path: Path) -> None:
    source = a_file(tmp_path)
    for number in range(MOST_LICKS):
        a_file(tmp_path / "state" / "licks", name=f"{number + 1:02d}.lick") if number else (
            (tmp_path / "state" / "licks").mkdir(parents=True),
            a_file(tmp_path / "state" / "licks", name="01.lick"),
        )
    status, _, err = run("lick", source, "--save", "one more")
    assert (status, f"{MOST_LICKS} licks are kept, and no more" in err) == (1, True)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("nothing",), "'nothing' is no lick that is kept"),
        (("--save", "x"), "say which lick"),
        (("x.lick", "--half"), "--half says how --wav sounds"),
        (("{file}", "--save", "7"), "give a name of 1 to 40 letters"),
        (("{file}", "--save", " "), "give a name of 1 to 40 letters"),
        (("{file}", "--save", "old\x1b[2Jgate"), "give a name of 1 to 40 letters"),
        (("{file}", "--save", "o\u200bld"), "give a name of 1 to 40 letters"),
        (("{file}", "--key", "H"), "--key: 'H' is no key"),
        (("nothing", "--forget"), "'nothing' is no lick that is kept"),
        (("{file}", "--position", "99"), "position 99 does not exist: G minor pentatonic has positions 1 to 5"),
        (("{file}", "--position", "0"), "position 0 does not exist"),
    ],
)
def test_what_cannot_be_asked_is_bad_usage(run: Run, tmp_path: Path, words: tuple[str, ...], sentence: str) -> None:
    file = a_file(tmp_path)
    status, _, err = run("lick", *(word.format(file=file) for word in words))
    assert (status, sentence in err) == (2, True), err


@pytest.mark.parametrize("word", ["²", "٣", "9" * 5000, "x" * 300 + ".lick", "x" * 300 + ".mid", "x" * 300 + ".wav"])
def test_a_word_that_is_no_lick_is_no_traceback(run: Run, tmp_path: Path, word: str) -> None:
    run("lick", a_file(tmp_path), "--save", "old gate")
    status, out, err = run("lick", word)
    assert (status in (1, 2), out) == (True, "")
    assert err.startswith("undertoe: ")


@pytest.mark.parametrize("more", ["--out", "--wav", "--save"])
def test_a_lick_is_not_forgotten_where_it_is_to_be_kept_or_given_as_well(run: Run, tmp_path: Path, more: str) -> None:
    run("lick", a_file(tmp_path), "--save", "old gate")
    status, _, err = run("lick", "old gate", "--forget", more, tmp_path / "out")
    assert (status, f"--forget goes without {more}" in err) == (2, True), err
    assert run("lick", "old gate")[0] == 0


def test_a_kept_lick_is_found_by_its_number(run: Run, tmp_path: Path) -> None:
    run("lick", a_file(tmp_path), "--save", "old gate")
    assert run("lick", "1")[1] == run("lick", "01")[1] == run("lick", "old gate")[1] != ""
    assert run("lick", "0")[0] == 2


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--lick", "nothing"), "'nothing' is no lick that is kept"),
        (("--lick", "{file}", "--mode", "curl"), "it goes with neither --mode nor --log"),
        (("--lick", "{file}", "--plot", "x.txt"), "the name must end in .png or .svg"),
    ],
)
def test_what_cannot_be_read_by_passes_is_bad_usage(
    run: Run, take: Path, tmp_path: Path, words: tuple[str, ...], sentence: str
) -> None:
    file = a_file(tmp_path)
    status, _, err = run("read", take, *(word.format(file=file) for word in words))
    assert (status, sentence in err) == (2, True), err
