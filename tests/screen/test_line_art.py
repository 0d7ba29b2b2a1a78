"""Shapes become ink where they are put, in SVG and in the picture alike."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

import pytest

from pedal.screen.line_art import Disc, LineArt, Path, Shape, Square, Words, picture, svg_text

SHAPES: list[Shape] = [
    Path(((10, 50), (90, 50)), 4),
    Disc(50, 50, 20, "#16181d"),
    Square(50, 50, 20, "#16181d"),
    Words(50, 50, "E", 40, "middle"),
    Words(50, 50, "♭", 60, "middle"),
    Words(50, 50, "♯", 60, "middle"),
]


def ink(shape: Shape) -> tuple[int, int, int, int] | None:
    """The box of what is dark."""
    dark = picture(LineArt(100, 100, (shape,))).convert("L").point(lambda level: 255 if level < 128 else 0)
    return dark.getbbox()


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_every_shape_leaves_ink_about_its_place(shape: Shape) -> None:
    box = ink(shape)
    assert box is not None
    assert abs((box[0] + box[2]) / 2 - 50) < 7
    assert abs((box[1] + box[3]) / 2 - 50) < 7


@pytest.mark.parametrize(("align", "side"), [("left", 0), ("right", 2)])
def test_words_begin_or_end_at_their_place(align, side: int) -> None:
    box = ink(Words(50, 50, "B♭4", 20, align))
    assert box is not None
    assert abs(box[side] - 50) <= 3


def test_a_disc_is_as_large_as_asked() -> None:
    assert ink(Disc(50, 50, 20, "#000000", 2)) == (29, 29, 71, 71)


def test_svg_holds_each_shape_once_and_escapes_words() -> None:
    art = LineArt(100, 100, (*SHAPES, Words(1, 2, "<&>", 9)))
    root = ElementTree.fromstring(svg_text(art, title="a & b"))
    kinds = [element.tag.rpartition("}")[2] for element in root]
    assert kinds == ["title", "rect", "polyline", "circle", "rect", "text", "text", "text", "text"]
    assert root[0].text == "a & b"
    assert root[-1].text == "<&>"
