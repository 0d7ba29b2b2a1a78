"""A teacher's homework: what is read, what is refused with line and words, and what `undertoe check` says of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from pedal.cli.entry import main
from pedal.errors import SettingsError
from pedal.practice.homework import Homework, Task
from pedal.settings.homework_file import read_homework
from pedal.settings.load import loads
from tests.conftest import REPOSITORY

GOOD = """\
for: ann
key: Gm pentatonic
since: 2026-11-20
by: 2026-12-04
times: 4
targets:
  - bend: 2/6
  - pre-bend: 2/8
    to: A4
    times: 6
  - curl: 2/6
"""


@pytest.fixture(autouse=True)
def own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)


def read(tmp_path: Path, text: str, settings: str = "players:\n  names: [Ann, Ben]\n") -> Homework:
    file = tmp_path / "homework.yaml"
    file.write_text(text)
    return read_homework(file, loads(settings, environment={"HOME": str(tmp_path)}))


def test_a_good_file_is_read(tmp_path: Path) -> None:
    homework = read(tmp_path, GOOD)
    assert homework.tasks == (
        Task("bend", 2, 6, 2, 4),
        Task("prebend", 2, 8, 2, 6),
        Task("curl", 2, 6, 0, 4),
    )
    assert (homework.player, homework.by) == ("Ann", "2026-12-04")
    assert homework.since_s > 0


def test_the_example_of_the_handbook_is_good(tmp_path: Path) -> None:
    page = (REPOSITORY / "docs" / "round.md").read_text()
    homework = read(tmp_path, page.split("```yaml\n")[1].split("```")[0])
    assert [(task.part, task.string, task.semitones, task.times) for task in homework.tasks] == [
        ("bend", 2, 2, 10),
        ("bend", 3, 3, 20),
        ("prebend", 2, 2, 10),
        ("curl", 3, 0, 10),
        ("lick", 0, 0, 10),
    ]
    assert homework.tasks[-1].lick == "old gate"


def test_one_target_is_enough(tmp_path: Path) -> None:
    homework = read(tmp_path, "targets:\n  - bend: 3/3\n")
    assert homework == Homework((Task("bend", 3, 3, 2, 10),))


@pytest.mark.parametrize(
    ("text", "line", "sentence"),
    [
        ("since: 0001-01-01\ntargets:\n  - bend: 3/3\n", 1, "since: expected a day such as 2026-12-04"),
        ("targets:\n  - lick: ''\n", 2, "targets 1 lick: expected the name of a kept lick"),
        ("targets:\n  - lick: [a]\n", 2, "targets 1 lick: expected the name"),
        (f"targets:\n  - lick: {'x' * 81}\n", 2, "at most 80 letters"),
        ("targets:\n  - lick: old gate\n    to: F4\n", 3, "expected none: a lick is played as it was kept"),
        ("targets:\n  - lick: old gate\n  - lick: Old  Gate\n", 3, "expected each target once"),
        ("targets:\n  - bend: 2/23\n", 2, "targets 1 bend: .* fret 23 cannot be played: this neck has frets 0 to 22"),
        ("targets:\n  - bend: 7/3\n", 2, "string 7 does not exist"),
        ("targets:\n  - bend: -1/3\n", 2, "string -1 does not exist"),
        ("targets:\n  - bend: 2/0\n", 2, "an open string cannot be bent"),
        ("targets:\n  - bend: two\n", 2, r"expected a string and a fret such as 2/8 \(got 'two'\)"),
        ("targets:\n  - bend: 2/6\n    to: C6\n", 3, r"expected a note one to 5 frets above F4 \(got 'C6'\)"),
        ("targets:\n  - bend: 2/6\n    to: F4\n", 3, "one to 5 frets above F4"),
        ("targets:\n  - bend: 2/6\n    to: high\n", 3, "such as G4"),
        ("targets:\n  - curl: 3/5\n", 2, r"the minor third or the flat seventh of G minor pentatonic \(got C4\)"),
        ("targets:\n  - curl: 2/6\n    to: G4\n", 3, "a curl has a zone, and no target"),
        ("targets:\n  - bend: 2/6\n    times: 0\n", 3, r"a whole number from 1 to 500 \(got 0\)"),
        ("targets:\n  - bend: 2/6\n  - bend: 2/6\n", 3, "each target once"),
        ("targets:\n  - pluck: 2/6\n", 2, r"expected one of bend, pre-bend, curl.* \(got pluck\)"),
        ("targets:\n  - bend: 2/6\n    curl: 2/6\n", 2, "expected one of bend, pre-bend, curl"),
        ("targets: []\n", 1, r"expected a list of 1 to 24.* \(got a list of 0\)"),
        ("by: 2026-12-04\n", 1, r"expected a list of 1 to 24.* \(got nothing\)"),
        (
            "key: A [1 b3 4]\ntargets:\n  - bend: 3/7\n",
            3,
            r"targets 1: expected 'to', a note one to 5 frets above D4 \(.*A4",
        ),
        ("key: A [1 b3 4]\ntargets:\n  - pre-bend: 3/7\n", 3, r"targets 1: expected 'to'"),
        ("by: friday\ntargets:\n  - bend: 2/6\n", 1, r"expected a day such as 2026-12-04 \(got 'friday'\)"),
        ("for: Zoe\ntargets:\n  - bend: 2/6\n", 1, r"expected one of Ann, Ben \(got 'Zoe'\)"),
        ("key: H\ntargets:\n  - bend: 2/6\n", 1, "key: expected a tonic and a scale"),
        ("tragets:\n  - bend: 2/6\n", 1, "did you mean targets"),
    ],
)
def test_what_cannot_be_is_refused_with_its_line(tmp_path: Path, text: str, line: int, sentence: str) -> None:
    with pytest.raises(SettingsError, match=sentence) as refused:
        read(tmp_path, text)
    assert any(f"homework.yaml:{line}: " in fault for fault in refused.value.faults)


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(SettingsError) as refused:
        read(tmp_path, "by: soon\ntargets:\n  - bend: 9/9\n  - bend: 2/99\n")
    assert len(refused.value.faults) == 3


def test_check_knows_a_homework_and_tells_what_it_asks_of_the_hand(tmp_path: Path, capsys) -> None:
    file = tmp_path / "h.yaml"
    file.write_text("by: 2026-12-04\ntargets:\n  - bend: 2/6\n  - bend: 1/3\n")
    assert main(["check", str(file)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"{file}: good, homework, by 2026-12-04:",
        "  bend F4 to G4 (string 2, fret 6): 10 times, 9 N",
        "  bend G4 to B♭4 (string 1, fret 3): 10 times, 21 N: "
        "too heavy with this string set, and Round does not offer it",
    ]
    file.write_text("targets:\n  - bend: 2/99\n")
    assert main(["check", str(file)]) == 2
    assert f"{file}:2: targets 1 bend" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("players:\n  names: [Ann, ann]\n", r"players.names: .*\(got 'Ann' and 'ann'\)"),
        ("players:\n  names: [Ann, Ann]\n", r"\(got 'Ann' and 'Ann'\)"),
        ("players:\n  names: [Zoé, Zoë]\n", r"as the panel draws them.* \(got 'Zoé' and 'Zoë'\)"),
        ("players:\n  names: [Анна, Иван]\n", r"\(got 'Анна' and 'Иван'\)"),
        ("players:\n  names: ['']\n", r"\(got ''\)"),
        ("players:\n  names: [guest]\n", r"\(got 'guest'\)"),
        ("players:\n  names: [a name that is far too long for the panel]\n", "at most 20 letters"),
        ("players:\n  names: [Ann]\n  heavy_n: [9, 12]\n", r"one force for each player.* \(got 2 for 1\)"),
    ],
)
def test_players_who_cannot_be_told_apart_are_refused(text: str, sentence: str) -> None:
    with pytest.raises(SettingsError, match=sentence):
        loads(text, environment={"HOME": "/nowhere"})


def test_the_review_tells_how_far_it_has_come(tmp_path: Path, capsys) -> None:
    log = tmp_path / "log.sqlite"
    assert main(["demo", "--mode", "ladder", "--headless", "--fast", "--log", str(log)]) == 0
    folder = tmp_path / ".config" / "undertoe"
    folder.mkdir(parents=True)
    homework = folder / "homework.yaml"
    homework.write_text("by: 2026-12-04\ntimes: 1\ntargets:\n  - bend: 6/3\n  - bend: 5/5\n  - curl: 2/6\n")
    capsys.readouterr()
    assert main(["review", "--log", str(log)]) == 0
    assert capsys.readouterr().out.splitlines()[-4:] == [
        "Homework: 1 of 3 done, by 2026-12-04",
        "  bend G2 to B♭2 (string 6, fret 3): true 1 of 1",
        "  bend D3 to F3 (string 5, fret 5): true 0 of 1",
        "  curl F4 (string 2, fret 6): true 0 of 1",
    ]
    homework.write_text("since: 2999-01-01\ntargets:\n  - bend: 6/3\n")
    assert main(["review", "--log", str(log)]) == 0
    assert "Homework: 0 of 1 done" in capsys.readouterr().out
    homework.write_text("targets:\n  - bend: 6/99\n")
    assert main(["review", "--log", str(log)]) == 0, "a broken homework keeps nobody from looking back"
    assert "homework.yaml:2" in capsys.readouterr().err


def test_check_says_which_lick_is_not_kept_here(tmp_path: Path, capsys) -> None:
    lick = "undertoe lick 1\nname old gate\nkey G minor pentatonic\n\nG3 1\nBb3 1\n"
    folder = tmp_path / ".local" / "state" / "undertoe" / "licks"
    folder.mkdir(parents=True)
    (folder / "03 old gate.lick").write_text(lick)
    file = tmp_path / "h.yaml"
    file.write_text("targets:\n  - lick: Old Gate\n  - lick: high road\n    times: 3\n")
    assert main(["check", str(file)]) == 0
    assert capsys.readouterr().out.splitlines()[1:] == [
        "  lick Old Gate: 10 times",
        "  lick high road: 3 times: not kept here, and Round does not ask for it before it is "
        "(undertoe lick FILE --save NAME)",
    ]
