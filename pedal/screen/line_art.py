"""Lines, discs, squares and words -> SVG text or a Pillow picture, from the same shapes."""

from __future__ import annotations

from typing import Literal
from xml.sax.saxutils import escape

from PIL import Image, ImageDraw, ImageFont

from pedal.values import frozen

INK, PAPER, GREY = "#16181d", "#ffffff", "#9aa0a8"
_FINE = 3
"""The Pillow picture is drawn this many times too large and then reduced: smooth edges."""
_ACCIDENTALS = "♭♯"


@frozen
class Path:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    width: float = 1.0
    colour: str = INK


@frozen
class Disc:
    """A filled circle with an outline."""

    x: float
    y: float
    radius: float
    fill: str
    width: float = 2.0


@frozen
class Square:
    """A filled square with an outline, `half` of its side from the centre to the edge."""

    x: float
    y: float
    half: float
    fill: str
    width: float = 2.0


@frozen
class Words:
    """One line of text; `y` is its middle."""

    x: float
    y: float
    text: str
    size: float
    align: Literal["left", "middle", "right"] = "left"
    colour: str = INK


Shape = Path | Disc | Square | Words


@frozen
class LineArt:
    """Shapes on white paper, drawn in their order."""

    width: int
    height: int
    shapes: tuple[Shape, ...]


def svg_text(art: LineArt, *, title: str) -> str:
    """The drawing as an SVG document; `title` is for those who cannot see it."""
    body = "\n".join(_svg(shape) for shape in art.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {art.width} {art.height}" '
        f'width="{art.width}" height="{art.height}" font-family="Helvetica, Arial, sans-serif" role="img">\n'
        f"<title>{escape(title)}</title>\n"
        f'<rect width="100%" height="100%" fill="{PAPER}"/>\n{body}\n</svg>\n'
    )


def picture(art: LineArt) -> Image.Image:
    """The drawing as an RGB picture of its own width and height."""
    image = Image.new("RGB", (art.width * _FINE, art.height * _FINE), PAPER)
    pen = ImageDraw.Draw(image)
    for shape in art.shapes:
        _paint(pen, shape)
    return image.resize((art.width, art.height), Image.Resampling.LANCZOS)


def _svg(shape: Shape) -> str:
    match shape:
        case Path():
            points = " ".join(f"{x:.1f},{y:.1f}" for x, y in shape.points)
            return f'<polyline points="{points}" fill="none" stroke="{shape.colour}" stroke-width="{shape.width:g}"/>'
        case Disc():
            return (
                f'<circle cx="{shape.x:.1f}" cy="{shape.y:.1f}" r="{shape.radius:g}" '
                f'fill="{shape.fill}" stroke="{INK}" stroke-width="{shape.width:g}"/>'
            )
        case Square():
            side = 2 * shape.half
            return (
                f'<rect x="{shape.x - shape.half:.1f}" y="{shape.y - shape.half:.1f}" width="{side:g}" '
                f'height="{side:g}" fill="{shape.fill}" stroke="{INK}" stroke-width="{shape.width:g}"/>'
            )
        case Words():
            anchor = {"left": "start", "middle": "middle", "right": "end"}[shape.align]
            return (
                f'<text x="{shape.x:.1f}" y="{shape.y + 0.35 * shape.size:.1f}" font-size="{shape.size:g}" '
                f'text-anchor="{anchor}" fill="{shape.colour}">{escape(shape.text)}</text>'
            )


def _paint(pen: ImageDraw.ImageDraw, shape: Shape) -> None:
    match shape:
        case Path():
            points = [(x * _FINE, y * _FINE) for x, y in shape.points]
            pen.line(points, fill=shape.colour, width=max(1, round(shape.width * _FINE)), joint="curve")
        case Disc():
            centre, width = (shape.x * _FINE, shape.y * _FINE), round(shape.width * _FINE)
            radius = (shape.radius + shape.width / 2) * _FINE
            pen.circle(centre, radius, fill=shape.fill, outline=INK, width=width)
        case Square():
            x, y, edge = shape.x * _FINE, shape.y * _FINE, (shape.half + shape.width / 2) * _FINE
            box = (x - edge, y - edge, x + edge, y + edge)
            pen.rectangle(box, fill=shape.fill, outline=INK, width=round(shape.width * _FINE))
        case Words():
            _paint_words(pen, shape)


def _paint_words(pen: ImageDraw.ImageDraw, words: Words) -> None:
    """Text letter by letter: Pillow's own font has no flats and sharps, they are drawn."""
    size = words.size * _FINE
    font = ImageFont.load_default(size)
    widths = [0.46 * size if letter in _ACCIDENTALS else pen.textlength(letter, font=font) for letter in words.text]
    x = words.x * _FINE - {"left": 0.0, "middle": 0.5, "right": 1.0}[words.align] * sum(widths)
    for letter, width in zip(words.text, widths, strict=True):
        if letter in _ACCIDENTALS:
            _paint_accidental(pen, letter, (x, words.y * _FINE), size, words.colour)
        else:
            pen.text((x, words.y * _FINE), letter, font=font, fill=words.colour, anchor="lm")
        x += width


_STROKES = {
    "♭": (
        ((0.08, -0.45), (0.08, 0.32)),
        ((0.08, 0.32), (0.24, 0.18), (0.33, 0.02), (0.28, -0.08), (0.18, -0.08), (0.08, 0.02)),
    ),
    "♯": (
        ((0.13, -0.34), (0.13, 0.36)),
        ((0.29, -0.38), (0.29, 0.32)),
        ((0.03, -0.08), (0.39, -0.16)),
        ((0.03, 0.16), (0.39, 0.08)),
    ),
}
"""Strokes of the accidentals, in shares of the size, from the left edge and the middle of the line."""


def _paint_accidental(pen: ImageDraw.ImageDraw, sign: str, at: tuple[float, float], size: float, colour: str) -> None:
    for stroke in _STROKES[sign]:
        points = [(at[0] + x * size, at[1] + y * size) for x, y in stroke]
        pen.line(points, fill=colour, width=max(1, round(0.075 * size)), joint="curve")
