"""The pictures in the documents are what the code draws today."""

from __future__ import annotations

import pytest
from PIL import Image

from tests.conftest import REPOSITORY
from tests.pictures import assert_same_picture, drawn_anew

KEPT = REPOSITORY / "docs" / "screens"


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    return drawn_anew("make_screens", tmp_path_factory.mktemp("screens"), within_s=120)


def test_no_picture_is_missing_or_left_over(drawn):
    assert {path.name for path in drawn.iterdir()} == {path.name for path in KEPT.iterdir()}


@pytest.mark.parametrize("name", sorted(path.name for path in KEPT.glob("*.png")))
def test_a_picture_is_as_drawn(drawn, name):
    assert_same_picture(drawn / name, KEPT / name, remedy="run python docs/make_screens.py and look at the pictures")


def test_the_film_is_as_drawn(drawn):
    with Image.open(drawn / "bend.gif") as new, Image.open(KEPT / "bend.gif") as old:
        assert new.n_frames == old.n_frames > 20
        for frame in range(new.n_frames):
            new.seek(frame)
            old.seek(frame)
            assert new.convert("RGB").tobytes() == old.convert("RGB").tobytes(), f"frame {frame}"
