"""Screen model -> bitmap: the one door of the room."""

from __future__ import annotations

from typing import Literal

from PIL import Image

from pedal.modes.screen_model import ScreenModel
from pedal.picture.close import draw_close
from pedal.picture.glance import draw_glance
from pedal.picture.low import draw_low
from pedal.picture.sheet import Sheet

Density = Literal["glance", "close"]
WIDTH = 128
HEIGHTS = (64, 32)


def lay_out(model: ScreenModel, *, density: Density = "glance", height: int = 64) -> Sheet:
    """The drawn sheet, with its record of what was written how large."""
    if height not in HEIGHTS:
        raise ValueError(f"height must be 64 or 32 rows, got {height}")
    sheet = Sheet(WIDTH, height)
    if height == 32:
        draw_low(sheet, model)
    elif density == "glance":
        draw_glance(sheet, model)
    else:
        draw_close(sheet, model)
    return sheet


def draw(model: ScreenModel, *, density: Density = "glance", height: int = 64) -> Image.Image:
    """A mode "1" picture of 128 columns and `height` rows; the same model always gives the same picture.

    A panel of 32 rows has one reduced picture for both densities.

    Raises
    ------
    ValueError
        If the height is not 64 or 32.
    """
    return lay_out(model, density=density, height=height).bitmap
