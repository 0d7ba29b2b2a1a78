"""A teacher's log that holds several pedals' sessions: whoever has no name there is still a player of their own."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pedal.log import StoreReader, open_store
from pedal.log.sharing import export_sessions, import_sessions
from pedal.modes.log_entry import LogEntry
from tests.log.conftest import BENT

DAY_S = 86_400.0
FIRST_DAY_S = 1_793_500_800.0
Run = Callable[..., tuple[int, str, str]]


def played(log: Path, error_cents: float, days: Sequence[float], *, player: str = "", tries: int = 12) -> Path:
    """A session a day whose bends stand about so far from their target."""
    for day in days:
        scatter = np.random.default_rng(int(day)).normal(0.0, 6.0, tries)
        store = open_store(log, player=player, wall=lambda at=day: FIRST_DAY_S + DAY_S * at, monotonic=lambda: 0.0)
        bends = [replace(BENT, error_cents=error_cents + float(cents), verdict="true") for cents in scatter]
        store.append(
            [LogEntry(4.0 * n, "ladder", "G minor pentatonic", bend, 2, 2, 6, "G4") for n, bend in enumerate(bends)]
        )
        store.close()
    return log


def uid_of(log: Path) -> str:
    with StoreReader(log) as reader:
        return reader.pedal_uid()


def taken_in(log: Path, *pedals: Path) -> Path:
    for pedal in pedals:
        with StoreReader(pedal) as reader:
            export_sessions(pedal, pedal.with_suffix(".jsonl"), reader.sessions())
        import_sessions(pedal.with_suffix(".jsonl"), log)
    return log


@pytest.fixture
def pedals(tmp_path: Path) -> list[Path]:
    """Three pupils without names, of whom none changes, and who played one after the other."""
    return [
        played(tmp_path / f"pupil{n}.sqlite", error, range(4 * n, 4 * n + 4)) for n, error in enumerate((-45, -20, 0))
    ]


def test_pupils_without_names_are_players_apart(review: Run, tmp_path: Path, pedals: list[Path]) -> None:
    log = taken_in(tmp_path / "class.sqlite", *pedals)
    names = [f"nameless pedal {uid_of(pedal)[:4]}" for pedal in pedals]
    said = review(log=log)[1]
    assert "get truer" not in said, "nobody did"
    first, second = (line for line in said.splitlines() if line.startswith("* "))
    assert re.match(rf"\* {names[1]}: your bends ♭7→1 stop (19|2.) cents flat", first)
    assert second.startswith(f"* {names[0]}: your bends ♭7→1 stop 4")
    assert f"The figures below are of {', '.join(names)} together; --player shows one of them." in said
    assert f"  {names[2]}" in said.partition("Session ")[2], "the list tells who is who"
    for name, middle in zip(names, (-45, -20, 0), strict=True):
        figures = json.loads(review("--json", "--player", name, log=log)[1])
        assert figures["overall"]["tries"] == 48
        assert figures["overall"]["bias_cents"]["value"] == pytest.approx(middle, abs=4)
    assert json.loads(review("--json", "--player", "", log=log)[1])["overall"]["tries"] == 144
    review("--html", tmp_path / "page.html", log=log)
    assert names[2] in (tmp_path / "page.html").read_text()


def test_one_pupil_without_a_name_is_spoken_to_as_ever(review: Run, tmp_path: Path, pedals: list[Path]) -> None:
    said = review(log=taken_in(tmp_path / "class.sqlite", pedals[0]))[1]
    assert said.startswith("* Your bends ♭7→1 stop 4")
    assert "nameless" not in said and "together" not in said


def test_pedals_whose_names_begin_alike_are_told_apart_by_more(
    review: Run, tmp_path: Path, pedals: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    sessions = StoreReader.sessions
    uids = {uid_of(pedal): f"025d{letter}" + 27 * "0" for pedal, letter in zip(pedals, "0a1", strict=True)}
    monkeypatch.setattr(
        StoreReader,
        "sessions",
        lambda self, **how: [replace(one, pedal_uid=uids.get(one.pedal_uid, "")) for one in sessions(self, **how)],
    )
    log = tmp_path / "class.sqlite"
    for pedal in pedals:
        import_sessions(pedal, log)
    names = ", ".join(f"nameless pedal 025d{letter}" for letter in "0a1")
    assert f"are of {names} together" in review(log=log)[1]


def test_a_name_that_is_not_there_is_told_with_who_is(review: Run, tmp_path: Path, pedals: list[Path]) -> None:
    log = taken_in(played(tmp_path / "class.sqlite", 0.0, [0], player="Ann"), *pedals[:2])
    said = review("--player", "Ben", log=log)[2]
    assert re.search("the log knows Ann, nameless pedal [0-9a-f]{4}, nameless pedal [0-9a-f]{4}$", said.strip())


def test_what_several_players_are_together_moves_nowhere(review: Run, tmp_path: Path) -> None:
    """Who played first is flat, who played last is not: that is no trend of anybody's."""
    log = tmp_path / "log.sqlite"
    for n, (name, error) in enumerate((("Ann", -45), ("Ben", -20), ("Cleo", 0))):
        played(log, error, range(4 * n, 4 * n + 4), player=name)
    said = review(log=log)[1]
    assert "truer" not in said and "trend" not in said
    figures = json.loads(review("--json", log=log)[1])
    assert [row["trend_stands"] for row in figures["by"]["target"]] == [False]
    review("--html", tmp_path / "page.html", log=log)
    page = (tmp_path / "page.html").read_text()
    assert "fitted line goes" not in page and "<td>truer</td>" not in page
    assert "No trend beyond chance" not in page, "none was looked for"


def test_the_trend_of_one_of_several_players_stands_once_only_they_are_shown(review: Run, tmp_path: Path) -> None:
    log = played(tmp_path / "log.sqlite", 0.0, [0], player="Ben")
    for day in range(1, 9):
        played(log, -60.0 + 6 * day, [day], player="Ann")
    both, anns = review(log=log)[1], review("--player", "Ann", log=log)[1]
    row_of_both, row_of_ann = (
        next(line for line in said.splitlines() if line.startswith("♭7→1")) for said in (both, anns)
    )
    assert row_of_ann.endswith("truer")
    assert not row_of_both.endswith("truer")
