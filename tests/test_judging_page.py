"""docs/judging.md: its pictures say what the code says today, and each is drawn by the script beside it."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parent.parent / "docs"
KEPT = sorted(path.name for path in (DOCS / "judging").glob("*.svg"))


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("judging")
    subprocess.run([sys.executable, "docs/make_judging.py", str(folder)], cwd=DOCS.parent, check=True, timeout=120)
    return folder


def said(svg: Path) -> list[str]:
    """Words of a picture: titles, heights, targets and the pedal's sentences. The lines may differ by a dot."""
    return re.findall(r"<text [^>]*>([^<]*)</text>", svg.read_text())


def marked(svg: Path) -> int:
    """How many stretches counted."""
    return svg.read_text().count('stroke-width="5.0"')


def test_the_page_shows_each_picture_that_is_drawn(drawn):
    shown = re.findall(r"!\[[^\]]+\]\(judging/([\w-]+\.svg)\)", (DOCS / "judging.md").read_text())
    assert len(shown) > 8
    assert sorted(shown) == KEPT == sorted(path.name for path in drawn.iterdir())


@pytest.mark.parametrize("name", KEPT)
def test_a_picture_says_what_the_code_says(drawn, name):
    assert said(drawn / name) == said(DOCS / "judging" / name), "run python docs/make_judging.py and look at them"
    assert marked(drawn / name) == marked(DOCS / "judging" / name)
