"""`undertoe map`, through the real command: the object, the page, the drawings, and every refusal."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from pedal.cli.entry import main

BEND_FIELDS = ["string", "fret", "from", "to", "semitones", "push_newtons", "push_mm", "grade", "support"]


@pytest.fixture(autouse=True)
def no_settings_of_the_machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["map", *words]) == 0
    return capsys.readouterr().out


def test_the_object_is_what_was_agreed(capsys: pytest.CaptureFixture[str]) -> None:
    answer = json.loads(said(capsys, "--key", "G minor pentatonic", "--position", "1", "--json"))
    assert list(answer) == ["key", "position", "bends", "curls"]
    assert (answer["key"], answer["position"]) == ("G minor pentatonic", 1)
    assert all(list(bend) == BEND_FIELDS for bend in answer["bends"])
    assert len(answer["bends"]) == 12
    assert answer["bends"][10] == {
        "string": 1,
        "fret": 3,
        "from": "G4",
        "to": "Bb4",
        "semitones": 3,
        "push_newtons": 21.41,
        "push_mm": 18.32,
        "grade": "not_with_this_set",
        "support": "ring finger, two behind it",
    }
    assert [(curl["string"], curl["fret"], curl["note"], curl["degree"]) for curl in answer["curls"]] == [
        (6, 6, "Bb2", "b3"),
        (4, 3, "F3", "b7"),
        (3, 3, "Bb3", "b3"),
        (2, 6, "F4", "b7"),
        (1, 6, "Bb4", "b3"),
    ]


def test_the_page_has_the_neck_the_bends_the_curls_and_the_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    page = said(capsys, "--key", "Bb minor pentatonic", "--position", "3")
    assert page.startswith("B♭ minor pentatonic · position 3 from degree 4 · frets 10 to 14\n")
    assert " 1 E4   │" in page
    assert "D♭4  (♭3) → E♭4  +2" in page
    assert "Curls: 15 to 60 cents" in page
    assert "Stop at pain" in page
    assert "no medical advice" in page
    assert max(map(len, page.splitlines())) <= 132


def test_lighter_strings_push_back_less(capsys: pytest.CaptureFixture[str]) -> None:
    light = json.loads(said(capsys, "--strings", "0.009,0.011,0.016,0.024w,0.032w,0.042w", "--json"))
    usual = json.loads(said(capsys, "--json"))
    for less, more in zip(light["bends"], usual["bends"], strict=True):
        assert less["push_newtons"] < more["push_newtons"]


def test_settings_are_obeyed_and_the_command_line_wins(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "undertoe.yaml"
    file.write_text(
        "key: A minor pentatonic\nforce: {medium_n: 1, heavy_n: 2, very_heavy_n: 3}\nstrings: {scale_mm: 628}\n"
    )
    answer = json.loads(said(capsys, "--config", str(file), "--json"))
    assert answer["key"] == "A minor pentatonic"
    assert {bend["grade"] for bend in answer["bends"]} == {"not_with_this_set"}
    longer = json.loads(said(capsys, "--config", str(file), "--scale-length", "648", "--json"))
    assert longer["bends"][0]["push_newtons"] > answer["bends"][0]["push_newtons"]


def test_cores_of_the_settings_are_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "undertoe.yaml"
    file.write_text("strings: {cores_in: [0.010, 0.013, 0.017, 0.010, 0.015, 0.017]}\n")
    thin = json.loads(said(capsys, "--config", str(file), "--json"))
    usual = json.loads(said(capsys, "--json"))
    changed = {mine["string"] for mine, theirs in zip(thin["bends"], usual["bends"], strict=True) if mine != theirs}
    assert changed == {4}


@pytest.mark.parametrize(
    ("words", "names"),
    [
        (["--key", "Gb minor pentatonic"], "E2 A2 D3 G3 B3 E4"),
        (["--key", "C# major"], "E2 A2 D3 G3 B3 E4"),
        (["--key", "C# minor", "--tuning", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"], "E♭2 A♭2 D♭3 G♭3 B♭3 E♭4"),
        (["--key", "Gb minor pentatonic", "--capo", "2"], "E2 A2 D3 G3 B3 E4"),
    ],
)
def test_open_strings_are_named_as_a_player_says_them_in_every_key(
    words: list[str], names: str, capsys: pytest.CaptureFixture[str]
) -> None:
    page = said(capsys, *words).splitlines()
    assert page[1].startswith(f"{names} ·")
    rows = [line[3:7].strip() for line in page if line[:2].strip().isdigit() and "│" in line]
    assert " ".join(reversed(rows)) == names


@pytest.mark.parametrize(
    ("words", "strings"),
    [
        (["--tuning", "bass", "--strings", "0.045w,0.065w,0.085w,0.105w", "--scale-length", "864"], 4),
        (["--tuning", "seven", "--strings", "0.010,0.013,0.017,0.026w,0.036w,0.046w,0.060w"], 7),
        (["--tuning", "Gb1 B1 E2 A2 D3 G3 B3 E4", "--strings", "9,11,16,24w,32w,42w,54w,70w", "--capo", "2"], 8),
    ],
)
def test_four_to_eight_strings(words: list[str], strings: int, capsys: pytest.CaptureFixture[str]) -> None:
    answer = json.loads(said(capsys, *words, "--json"))
    assert len(answer["bends"]) == 2 * strings


def test_both_drawings_show_every_bend(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    svg, png = tmp_path / "neck.svg", tmp_path / "neck.png"
    said(capsys, "--key", "B minor pentatonic", "--svg", str(svg), "--png", str(png))
    words = [text.text for text in ElementTree.parse(svg).getroot().iter("{http://www.w3.org/2000/svg}text")]
    assert sum(word.startswith(("+2", "+3")) for word in words if word) == 12
    assert "♭3" in words
    with Image.open(png) as image:
        assert image.width == 1280
        assert 0.02 < sum(image.convert("L").histogram()[:128]) / (image.width * image.height) < 0.2


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--key", "H minor"], "'H minor' is no key: 'H' is no note name"),
        (["--key", "G pentatonik"], "'pentatonik' is no scale known here: did you mean pentatonic?"),
        (["--key", "G [1 2 9]"], "'9' is no degree: give 1 to 7"),
        (["--position", "0"], "position 0 does not exist: G minor pentatonic has positions 1 to 5"),
        (["--position", "9"], "position 9 does not exist"),
        (["--position", "one"], "argument --position: invalid int value: 'one'"),
        (["--position", "5", "--frets", "14"], "needs fret 15: this neck ends at fret 14"),
        (["--tuning", "E2 A2 D3"], "a tuning of 3 strings is not known here: give 4 to 8"),
        (["--tuning", "E2 A2 D3 G3 B3 Z4"], "'Z4' is no pitch"),
        (["--tuning", "bass"], "6 gauges do not match a tuning of 4 strings"),
        (["--strings", "0.010,0.013"], "2 gauges do not match a tuning of 6 strings"),
        (["--strings", "0.010,0.013,0.017,0.026w,0.036w,thick"], "'thick' is no gauge"),
        (["--strings", "0.001,0.013,0.017,0.026w,0.036w,0.046w"], "give 0.006 to 0.03 inches"),
        (["--capo", "-1"], "a capo on fret -1 does not fit a neck of 22 frets: give 0 to 21"),
        (["--capo", "22"], "give 0 to 21"),
        (["--frets", "2"], "a neck of 2 frets is not known here: give 5 to 36"),
        (["--scale-length", "0"], "a scale length of 0 mm is out of range: give 400 to 950 mm"),
        (["--scale-length", "940"], "would break before it reaches its pitch"),
        (["--a4", "0"], "A4 at 0 Hz is out of range: give 400 to 480 Hz"),
        (["--a4", "-440"], "A4 at -440 Hz is out of range"),
        (["--a4", "nan"], "A4 at nan Hz is out of range"),
    ],
)
def test_what_cannot_be_ends_in_one_sentence(
    words: list[str], sentence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["map", *words]) == 2
    out, err = capsys.readouterr()
    assert sentence in err
    assert err.count("\n") == 1
    assert out == ""


@pytest.mark.parametrize("option", ["--png", "--svg"])
def test_a_drawing_that_cannot_be_written_fails(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["map", option, str(tmp_path / "no such folder" / "neck")]) == 1
    assert "cannot be written: No such file or directory" in capsys.readouterr().err


words = st.one_of(
    st.sampled_from(
        [
            "G",
            "Bb blues",
            "F# [1 b3 5]",
            "G [",
            "H",
            "",
            "standard",
            "bass",
            "E2 A2 D3 G3",
            "0.010",
            "9,11,16,24w,32w,42w",
        ]
    ),
    st.text(alphabet="ABCDEGb#♭♯0123456789.,[]w -", max_size=24),
)
numbers = st.one_of(st.integers(-5, 30).map(str), st.sampled_from(["nan", "inf", "-1", "1e9", "440", "648"]))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    options=st.fixed_dictionaries(
        {},
        optional={"--key": words, "--tuning": words, "--strings": words, "--position": numbers, "--capo": numbers}
        | {"--frets": numbers, "--scale-length": numbers, "--a4": numbers},
    ),
    as_json=st.booleans(),
)
def test_no_words_end_in_a_traceback(options: dict[str, str], as_json: bool, capsys) -> None:
    status = main(
        ["map", *(f"{option}={value}" for option, value in options.items()), *(["--json"] if as_json else [])]
    )
    out, err = capsys.readouterr()
    assert (status == 0) == (err == "")
    if status:
        assert status == 2
        assert err.startswith("undertoe: ")
        assert err.count("\n") == 1
    elif as_json:
        assert json.loads(out)["bends"]


def test_two_dashes_are_no_key(capsys: pytest.CaptureFixture[str]) -> None:
    """What argparse of Python 3.11 makes of them is an empty list."""
    assert main(["map", "--key=--"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_scale_with_wide_gaps_has_the_bends_of_a_hand_and_every_note(capsys: pytest.CaptureFixture[str]) -> None:
    page = said(capsys, "--key", "G [1 b3 4]", "--position", "1")
    assert "+7" not in page
    rows = [line for line in page.splitlines() if "│" in line]
    degrees = [cell.strip("─ ").split(" ")[0] for line in rows for cell in line.split("│")[1:-1] if cell.strip("─ ")]
    assert set(degrees) == {"1", "♭3", "4"}
    bends = json.loads(said(capsys, "--key", "G [1 b3 4]", "--json"))["bends"]
    assert {bend["semitones"] for bend in bends} == {2, 3}
    assert len(bends) < len(degrees)


def test_a_scale_without_a_bend_says_so_and_can_be_drawn(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    drawing = tmp_path / "neck.svg"
    page = said(capsys, "--key", "G [1 b5]", "--svg", str(drawing))
    assert "No bends: the notes of this scale lie more than 5 semitones apart." in page
    ElementTree.fromstring(drawing.read_text())
