"""Screen model -> bitmap: the one door of the room."""

from __future__ import annotations

from typing import Literal

from PIL import Image

from pedal.modes.screen_model import ScreenModel
from pedal.screen.canvas import Canvas
from pedal.screen.close import draw_close
from pedal.screen.glance import draw_glance
from pedal.screen.low import draw_low

Density = Literal["glance", "close"]
WIDTH = 128
HEIGHTS = (64, 32)


def lay_out(model: ScreenModel, *, density: Density = "glance", height: int = 64) -> Canvas:
    """The drawn canvas, with its record of what was written how large."""
    if height not in HEIGHTS:
        raise ValueError(f"height must be 64 or 32 rows, got {height}")
    canvas = Canvas(WIDTH, height)
    if height == 32:
        draw_low(canvas, model)
    elif density == "glance":
        draw_glance(canvas, model)
    else:
        draw_close(canvas, model)
    return canvas


def draw(model: ScreenModel, *, density: Density = "glance", height: int = 64) -> Image.Image:
    """A mode "1" picture of 128 columns and `height` rows; the same model always gives the same picture.

    A panel of 32 rows has one reduced picture for both densities.

    Raises
    ------
    ValueError
        If the height is not 64 or 32.
    """
    return lay_out(model, density=density, height=height).bitmap
