"""Pictures that show whether a panel works: every dot, the edges, the way up, the letters, and every screen."""

from __future__ import annotations

from collections.abc import Iterator

from PIL import Image

from pedal.picture.drawing import WIDTH, Density, draw
from pedal.picture.samples import samples
from pedal.picture.sheet import HUGE, LARGE, MEDIUM, SMALL, Sheet


def test_pictures(*, height: int = 64, density: Density = "glance") -> Iterator[tuple[str, Image.Image]]:
    """What to look for, in a sentence, and the picture of 128 columns and `height` rows; about thirty of them."""
    yield "every dot is lit: look for dark dots and lines", _all_lit(height)
    yield "every other dot is lit: an even grey without stripes", _chequered(height)
    yield "a frame on all four edges, an arrow up, and 1 2 3 4: nothing cut off, turned or mirrored", _edges(height)
    yield "letters of four heights: how small can you read, sitting and standing?", _letters(height)
    for name, model in samples().items():
        yield f"screen: {name}", draw(model, density=density, height=height)


def _all_lit(height: int) -> Image.Image:
    return Image.new("1", (WIDTH, height), 255)


def _chequered(height: int) -> Image.Image:
    sheet = Sheet(WIDTH, height)
    for y in range(height):
        sheet.ink.point([(x, y) for x in range(y % 2, WIDTH, 2)], fill=255)
    return sheet.bitmap


def _edges(height: int) -> Image.Image:
    sheet = Sheet(WIDTH, height)
    sheet.frame(0, 0, WIDTH, height)
    middle, low = WIDTH // 2, height - 12
    sheet.ink.polygon([(middle, 3), (middle - 9, 12), (middle + 9, 12)], fill=255)
    sheet.fill(middle - 2, 12, 5, low - 12 + 9)
    for number, (x, y) in enumerate(((4, 3), (WIDTH - 8, 3), (4, low), (WIDTH - 8, low)), 1):
        sheet.write(str(number), x, y)
    return sheet.bitmap


def _letters(height: int) -> Image.Image:
    """A figure as large as a verdict's where the rows allow it; under it the three smaller letterings side by side."""
    sheet = Sheet(WIDTH, height)
    y = 1
    if height >= y + HUGE.rows + LARGE.rows:
        sheet.write("−12 TRUE", 1, y, HUGE)
        y += HUGE.rows + 3
    x = sheet.write("B♭3", 1, y, LARGE) + 6
    x = sheet.write("F♯4", x, y, MEDIUM) + 6
    sheet.write("ring +2", x, y, SMALL)
    return sheet.bitmap
