"""The page of one Round and a month of them is what the board gives today, and what it promises holds."""

from __future__ import annotations

import subprocess
import sys

import pytest
from PIL import Image, ImageChops

from tests.conftest import REPOSITORY

DOCS = REPOSITORY / "docs"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rounds")
    subprocess.run([sys.executable, "docs/make_rounds.py", str(folder)], cwd=REPOSITORY, check=True, timeout=300)
    return folder


def test_the_page_is_current(made):
    assert (DOCS / "rounds.md").read_text() == (made / "rounds.md").read_text(), "run python docs/make_rounds.py"


def test_the_picture_is_current(made):
    with Image.open(made / "rounds" / "round.png") as new, Image.open(DOCS / "rounds" / "round.png") as old:
        assert new.size == old.size
        assert ImageChops.difference(new.convert("RGB"), old.convert("RGB")).getbbox() is None, (
            "run python docs/make_rounds.py and look at it"
        )


def test_the_ceiling_held_on_each_day_and_each_round_ended_within_15_s_of_its_time():
    rows = [line.split("|") for line in (DOCS / "rounds.md").read_text().splitlines() if line.startswith("| ")]
    days = [row for row in rows if row[1].strip().isdigit()]
    assert len(days) == 9
    for row in days:
        assert int(row[5]) <= 10
        assert abs(float(row[6].split()[0]) - 600.0) <= 15.0
