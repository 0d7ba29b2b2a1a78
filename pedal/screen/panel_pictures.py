"""Pictures that show whether a panel works: every dot, the edges, the way up, the letters, and some screens."""

from __future__ import annotations

from PIL import Image

from pedal.screen.canvas import HUGE, LARGE, MEDIUM, SMALL, Canvas
from pedal.screen.drawing import WIDTH, Density, draw
from pedal.screen.samples import samples

LOOKS = ("watch there", "watch true", "watch flat")
"""Screens of the pedal that are shown last."""


def panel_pictures(*, density: Density = "glance", height: int = 64) -> dict[str, Image.Image]:
    """Pictures of 128 columns and `height` rows by what to look for in them, in the order to show them."""
    models = samples()
    return {
        "every dot lit: look for dark dots and lines": _all_lit(height),
        "a frame touching all four edges, the arrow up, 1 2 and 3 4 not mirrored": _edges(height),
        "every other dot lit: an even grey without stripes": _chequered(height),
        "letters of several heights: which can you read, sitting and standing?": _letters(height),
        **{f"a screen of the pedal, {name}": draw(models[name], density=density, height=height) for name in LOOKS},
    }


def _all_lit(height: int) -> Image.Image:
    return Image.new("1", (WIDTH, height), 255)


def _chequered(height: int) -> Image.Image:
    canvas = Canvas(WIDTH, height)
    for y in range(height):
        canvas.ink.point([(x, y) for x in range(y % 2, WIDTH, 2)], fill=255)
    return canvas.bitmap


def _edges(height: int) -> Image.Image:
    canvas = Canvas(WIDTH, height)
    canvas.frame(0, 0, WIDTH, height)
    middle, low = WIDTH // 2, height - 12
    canvas.ink.polygon([(middle, 3), (middle - 9, 12), (middle + 9, 12)], fill=255)
    canvas.fill(middle - 2, 12, 5, low - 12 + 9)
    for number, (x, y) in enumerate(((4, 3), (WIDTH - 8, 3), (4, low), (WIDTH - 8, low)), 1):
        canvas.write(str(number), x, y)
    return canvas.bitmap


def _letters(height: int) -> Image.Image:
    """A figure as large as a verdict's where the rows allow it; under it the three smaller letterings side by side."""
    canvas = Canvas(WIDTH, height)
    y = 1
    if height >= y + HUGE.rows + LARGE.rows:
        canvas.write("−12 E♭", 1, y, HUGE)
        y += HUGE.rows + 3
    x = canvas.write("B♭3", 1, y, LARGE) + 6
    x = canvas.write("F♯4", x, y, MEDIUM) + 6
    canvas.write("ring +2", x, y, SMALL)
    return canvas.bitmap
