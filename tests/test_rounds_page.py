"""The page of one Round and a month of them is what the pedal gives today, and what it promises holds."""

from __future__ import annotations

import pytest

from tests.conftest import REPOSITORY
from tests.pictures import assert_same_picture, drawn_anew

DOCS = REPOSITORY / "docs"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return drawn_anew("make_rounds", tmp_path_factory.mktemp("rounds"), within_s=300)


def test_the_page_is_current(made):
    assert (DOCS / "rounds.md").read_text() == (made / "rounds.md").read_text(), "run python docs/make_rounds.py"


def test_the_picture_is_current(made):
    remedy = "run python docs/make_rounds.py and look at it"
    assert_same_picture(made / "rounds" / "round.png", DOCS / "rounds" / "round.png", remedy=remedy)


def test_the_ceiling_held_on_each_day_and_each_round_ended_within_15_s_of_its_time():
    rows = [line.split("|") for line in (DOCS / "rounds.md").read_text().splitlines() if line.startswith("| ")]
    days = [row for row in rows if row[1].strip().isdigit()]
    assert len(days) == 9
    for row in days:
        assert int(row[5]) <= 10
        assert abs(float(row[6].split()[0]) - 600.0) <= 15.0
