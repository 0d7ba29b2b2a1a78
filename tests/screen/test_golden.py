"""Every sample screen, dot for dot, as it was last looked at."""

from __future__ import annotations

import pytest
from golden import FOLDER, REDRAW, assert_as_kept
from PIL import Image

from pedal.screen.drawing import draw
from pedal.screen.panel_pictures import LOOKS, panel_pictures
from pedal.screen.samples import samples


@pytest.mark.parametrize(("density", "height"), [("glance", 64), ("close", 64), ("glance", 32)])
def test_screens_look_as_they_did(density, height):
    name = density if height == 64 else "low"
    assert_as_kept(name, {title: draw(model, density=density, height=height) for title, model in samples().items()})


def test_panel_test_pictures_look_as_they_did():
    """The screens among them stand with the others."""
    own = {title: picture for title, picture in panel_pictures().items() if not title.endswith(LOOKS)}
    assert len(own) == 4
    assert_as_kept("panel_test", own)


@pytest.mark.parametrize("height", [64, 32])
def test_the_panel_is_tested_to_its_edges(height):
    """A dead line, a shifted column or a picture that is turned cannot hide."""
    lit, frame, grey, *_ = panel_pictures(height=height).values()
    assert lit.getextrema() == (255, 255)
    assert frame.getbbox() == (0, 0, 128, height)
    for turn in (Image.Transpose.FLIP_LEFT_RIGHT, Image.Transpose.FLIP_TOP_BOTTOM, Image.Transpose.ROTATE_180):
        assert frame.transpose(turn).tobytes() != frame.tobytes()
    assert grey.convert("L").resize((16, height // 8), Image.Resampling.BOX).getextrema() == (128, 128)


def test_redrawing_fails_the_run(monkeypatch, tmp_path):
    monkeypatch.setattr("golden.FOLDER", tmp_path)
    monkeypatch.setenv(REDRAW, "1")
    with pytest.raises(pytest.fail.Exception, match="was redrawn: look at the pictures"):
        assert_as_kept("message", {"message": draw(samples()["message"])})
    monkeypatch.delenv(REDRAW)
    assert_as_kept("message", {"message": draw(samples()["message"])})
    with pytest.raises(AssertionError):
        assert_as_kept("message", {"message": draw(samples()["menu"])})


def test_there_is_no_golden_file_that_nobody_compares():
    ours = {"glance", "close", "low", "panel_test"}
    assert {path.stem for path in FOLDER.iterdir()} == ours | {"set_up_64", "set_up_32"}
