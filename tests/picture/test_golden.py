"""Every sample screen, dot for dot, as it was last looked at."""

from __future__ import annotations

import pytest
from golden import FOLDER, REDRAW, compare

from pedal.picture.drawing import draw
from pedal.picture.panel_test import test_pictures as pictures_for_the_panel
from pedal.picture.samples import samples


@pytest.mark.parametrize(("density", "height"), [("glance", 64), ("close", 64), ("glance", 32)])
def test_screens_look_as_they_did(density, height):
    name = density if height == 64 else "low"
    compare(name, {title: draw(model, density=density, height=height) for title, model in samples().items()})


def test_panel_test_pictures_look_as_they_did():
    compare("panel_test", dict(list(pictures_for_the_panel())[:4]))


def test_redrawing_fails_the_run(monkeypatch, tmp_path):
    monkeypatch.setattr("golden.FOLDER", tmp_path)
    monkeypatch.setenv(REDRAW, "1")
    with pytest.raises(pytest.fail.Exception, match="was redrawn: look at the pictures"):
        compare("message", {"message": draw(samples()["message"])})
    monkeypatch.delenv(REDRAW)
    compare("message", {"message": draw(samples()["message"])})
    with pytest.raises(AssertionError):
        compare("message", {"message": draw(samples()["menu"])})


def test_there_is_no_golden_file_that_nobody_compares():
    assert {path.stem for path in FOLDER.iterdir()} == {"glance", "close", "low", "panel_test"}
