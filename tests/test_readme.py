"""The README keeps its word: its commands run and print what it shows, its links and pictures are there."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

from pedal.cli.entry import VERBS, main
from pedal.modes.action_map import ActionMap

REPOSITORY = Path(__file__).resolve().parent.parent
README = (REPOSITORY / "README.md").read_text()
CONSOLE = [block.split("\n", 1) for block in re.findall(r"```console\n\$ undertoe (.*?)```", README, re.DOTALL)]
RUNS_ANYWHERE = {words: shown for words, shown in CONSOLE if not words.startswith("review")}
DEMO = "demo --headless --fast"


def test_it_is_short_enough_for_a_player() -> None:
    assert len(README.splitlines()) < 150


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_every_link_leads_somewhere(page: str) -> None:
    links = re.findall(r"\]\(([^)#]+)\)", (REPOSITORY / page).read_text())
    assert [link for link in links if "://" not in link and not (REPOSITORY / link).exists()] == []


def test_every_verb_is_shown() -> None:
    assert [verb for verb in VERBS if f"undertoe {verb}" not in README] == []


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """What the demo shown prints, and the log of it: played once."""
    log, out = tmp_path_factory.mktemp("demo") / "log.sqlite", io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        assert main([*DEMO.split(), "--log", str(log)]) == 0
    return out.getvalue(), log


@pytest.mark.parametrize("words", [words for words in RUNS_ANYWHERE if words != DEMO])
def test_a_command_prints_the_lines_shown(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words.split()) == 0
    assert_shown(words, capsys.readouterr().out)


def test_the_demo_prints_the_lines_shown(demo: tuple[str, Path]) -> None:
    assert_shown(DEMO, demo[0])


def assert_shown(words: str, out: str) -> None:
    printed = {line.rstrip() for line in out.splitlines()}
    shown = [line.rstrip() for line in RUNS_ANYWHERE[words].splitlines() if line.strip(" …")]
    assert shown
    assert [line for line in shown if line not in printed] == []


def test_the_review_of_the_demo_has_the_columns_and_the_row_shown(
    demo: tuple[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["review", "--log", str(demo[1])]) == 0
    printed = capsys.readouterr().out.splitlines()
    (shown,) = [text for words, text in CONSOLE if words == "review"]
    columns, row = shown.strip().splitlines()
    assert columns in printed
    assert any(line.split()[:3] == row.split()[:3] for line in printed), printed


@pytest.mark.parametrize("words", sorted(set(re.findall(r"undertoe (\w+(?: --[\w-]+)*)", README))))
def test_every_option_named_is_known(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    verb, *options = words.split()
    with pytest.raises(SystemExit) as ended:
        main([verb, "--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    assert [option for option in options if option not in told] == []


def test_what_it_says_of_four_switches_holds_in_the_ladder() -> None:
    four = ActionMap(4)
    said = " ".join(README.split())
    assert "With four, as the keys of the terminal are: 2 long goes back a target" in said
    assert four.meaning("long", (2,), "ladder") == "previous_target"
    assert "2 and 3 at once cross the bend off in Ladder and Round" in said
    assert {four.meaning("both", (2, 3), mode) for mode in ("ladder", "round")} == {"cross_off"}
