"""A log of years: the same figures as by the plain computation, in the memory of a pedal."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from bench.large_log import make
from pedal.log import StoreReader
from pedal.progress.figures import Figures
from pedal.progress.logged_note import LoggedNote
from pedal.review.curves import binned, courses_of, prebend_errors
from pedal.review.review import Review, logged_note, review_of
from pedal.review.selection import Selection, chosen_sessions
from tests.progress import oracle_figures as oracle

REVIEW_MB, REVIEW_S = 100, 30


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two hundred sessions of sixty notes, of two players: what is plain costs the square of them."""
    path = tmp_path_factory.mktemp("years") / "log.sqlite"
    make(path, sessions=200, notes=60)
    return path


@pytest.fixture(scope="module")
def played(log: Path) -> list[LoggedNote]:
    """The same log, note by note."""
    with StoreReader(log) as reader:
        sessions = chosen_sessions(reader.sessions(), Selection())
        found = [logged_note(order, e) for order, s in enumerate(sessions, 1) for e in reader.entries(s.id)]
    return [note for note in found if note is not None]


@pytest.fixture(scope="module")
def review(log: Path) -> Review:
    return review_of(log, Selection())


def test_the_figures_of_years_are_those_of_the_plain_computation(review: Review, played: list[LoggedNote]) -> None:
    assert review.notes == len(played) == 12_000
    assert review.overall == of_both(oracle.figures_of("all", played))
    assert review.tables["target"] == [of_both(row) for row in oracle.target_table(played)]
    for name, by in oracle.GROUPINGS.items():
        if name != "target":
            assert review.tables[name] == [of_both(row) for row in oracle.table(played, by)], name


def of_both(row: Figures) -> Figures:
    """Two players together have no trend."""
    return replace(row, trend=None, trend_stands=False)


@pytest.mark.parametrize(
    "choice",
    [
        Selection(key="A blues"),
        Selection(target="b7-1"),
        Selection(target="G4"),
        Selection(player="Ben"),
        Selection(session=-3),
    ],
)
def test_of_a_choice_as_well(log: Path, choice: Selection) -> None:
    from pedal.review.review import noted

    chosen = [one.note for one in noted(log, choice)]
    review = review_of(log, choice)
    assert chosen and review.notes == len(chosen)
    alone = choice.player is not None or choice.session is not None
    overall, targets = oracle.figures_of("all", chosen), oracle.target_table(chosen)
    assert review.overall == (overall if alone else of_both(overall))
    assert review.tables["target"] == (targets if alone else [of_both(row) for row in targets])
    if choice.player is not None:
        assert any(row.trend_stands for row in targets), "the log is meant to hold a trend"


def test_what_is_drawn_comes_from_the_same_notes(review: Review, played: list[LoggedNote]) -> None:
    for course in courses_of(review):
        plain = oracle.misses_by_session([note for note in played if note.target == course.row.name])
        assert [point for point, _ in course.points] == [session for session, _ in plain]
        scale = 100 if course.percent else 1
        assert [value for _, value in course.points] == [scale * miss for _, miss in plain]
    errors = [note.error_cents for note in played if note.skill == "prebend" and note.error_cents is not None]
    assert prebend_errors(review).tolist() == errors
    edges = [5 * int(error // 5) for error in errors]
    assert dict(bin for bin in binned(errors) if bin[1]) == {edge: edges.count(edge) for edge in set(edges)}


@pytest.mark.soak
def test_a_million_notes_fit_the_smallest_board(tmp_path: Path) -> None:
    """Processor seconds, so that a busy machine is no fault of the review.

    Measured from a small process of its own: the kernel counts the memory of who starts a program as the program's.
    """
    make(tmp_path / "log.sqlite", sessions=2500, notes=400)
    words = ["review", "--log", str(tmp_path / "log.sqlite"), "--html", str(tmp_path / "page.html")]
    measure = [sys.executable, "-m", "bench.large_log", "measure", *words]
    said = subprocess.run(measure, capture_output=True, text=True, check=True).stdout
    print(f"a million notes: {said}")
    found = re.match(r"[\d.]+ s, ([\d.]+) s of processor, (\d+) MB, status 0", said)
    assert found is not None, said
    assert float(found[1]) <= REVIEW_S and int(found[2]) <= REVIEW_MB
