"""DEVELOPERS.md against the tree: its rooms are there, its bounds are those of the code."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pedal.live import capture, log_writer, loop, printer
from pedal.takes import writing

REPOSITORY = Path(__file__).resolve().parent.parent
PAGE = (REPOSITORY / "DEVELOPERS.md").read_text()


def test_its_rooms_are_the_rooms() -> None:
    told = set(re.findall(r"^\| `((?:pedal/)?\w+)` \|", PAGE, re.MULTILINE))
    rooms = {f"pedal/{path.name}" for path in (REPOSITORY / "pedal").iterdir() if (path / "__init__.py").exists()}
    assert told == rooms | {"hw"}


def test_every_file_it_follows_a_sound_through_is_there() -> None:
    named = set(
        re.findall(
            r"`((?:pitch|notes|verdicts|modes|screen|synth|live|settings|log|takes|review|doctor|cli|hw|tests|docs)/[\w/]+\.\w+)`",
            PAGE,
        )
    )
    assert len(named) > 12
    assert [name for name in named if not any((REPOSITORY / at / name).exists() for at in ("", "pedal"))] == []


@pytest.mark.parametrize(
    ("row", "bound"),
    [
        ("capture → engine", capture.QUEUE_BLOCKS),
        ("a take or performance → engine", capture.AHEAD_BLOCKS),
        ("switches → engine", loop.EDGES),
        ("engine → log writer", log_writer.MOST_ENTRIES),
        ("engine → printer", printer.QUEUE_VERDICTS),
        ("engine → takes", writing.WAITING_TAKES),
    ],
)
def test_its_bounds_are_those_of_the_code(row: str, bound: int) -> None:
    (line,) = [line for line in PAGE.splitlines() if line.startswith(f"| {row} |")]
    assert re.search(rf"\b{bound} (blocks|edges|entries|verdicts|takes)\b", line), line


def test_it_names_the_patience_of_the_loop() -> None:
    assert (loop.STOP_S, loop.STALL_S, loop.GIVE_UP_S) == (0.9, 1.0, 10.0)
    assert "within 0.9 s" in PAGE


def test_its_decisions_are_listed_and_each_says_what_would_change_it() -> None:
    folder = REPOSITORY / "docs" / "decisions"
    pages = sorted(path.name for path in folder.glob("0*.md"))
    listed = re.findall(r"\]\((0[\w-]+\.md)\)", (folder / "README.md").read_text())
    assert listed == pages
    for name in pages:
        text = (folder / name).read_text()
        assert all(mark in text for mark in ("**Decided.**", "**Why.**", "**Costs.**", "**Anew when**")), name
