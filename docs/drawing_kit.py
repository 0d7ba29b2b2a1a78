"""Lines, circles and words in millimetres -> SVG and PDF of the same size on paper: one unit is one millimetre."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

INK, GREY, RED, BLUE, GREEN, BROWN = "#1a1a1a", "#8a8a8a", "#b3261e", "#22577a", "#2d6a4f", "#8a5a00"
POINTS_A_MM = 72 / 25.4
"""PDF counts in points of 1/72 inch (ISO 32000-1, 8.3.2.3), an inch is 25.4 mm."""
_KAPPA = 4 * (math.sqrt(2) - 1) / 3
"""How far the handles of a Bezier curve stand for a quarter of a circle."""


@dataclass(frozen=True, slots=True)
class Path:
    """Straight strokes through points; closed and filled if asked. `dash` in mm, None for a whole line."""

    points: tuple[tuple[float, float], ...]
    colour: str = INK
    width: float = 0.35
    dash: float | None = None
    closed: bool = False
    fill: str = "none"


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle about its middle."""

    x: float
    y: float
    diameter: float
    colour: str = INK
    width: float = 0.35
    fill: str = "none"


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text with its baseline at y."""

    x: float
    y: float
    words: str
    size: float = 3.4
    anchor: str = "start"
    colour: str = INK
    bold: bool = False


@dataclass
class Drawing:
    """A sheet of so many millimetres, y downwards."""

    width: float
    height: float
    title: str
    described: str
    items: list[Path | Circle | Words] = field(default_factory=list)

    def line(self, *points: tuple[float, float], **how: object) -> None:
        self.items.append(Path(points, **how))  # type: ignore[arg-type]

    def box(self, x: float, y: float, columns: float, rows: float, **how: object) -> None:
        corners = ((x, y), (x + columns, y), (x + columns, y + rows), (x, y + rows))
        self.items.append(Path(corners, closed=True, **how))  # type: ignore[arg-type]

    def circle(self, x: float, y: float, diameter: float, **how: object) -> None:
        self.items.append(Circle(x, y, diameter, **how))  # type: ignore[arg-type]

    def write(self, x: float, y: float, words: str, **how: object) -> None:
        self.items.append(Words(x, y, words, **how))  # type: ignore[arg-type]

    def svg(self) -> str:
        """Printed at 100 % it has the size of the thing."""
        size = f'width="{self.width:g}mm" height="{self.height:g}mm" viewBox="0 0 {self.width:g} {self.height:g}"'
        lines = [
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-labelledby="t d">',
            f'<title id="t">{escape(self.title)}</title><desc id="d">{escape(self.described)}</desc>',
            '<style>text{font-family:"DejaVu Sans",Helvetica,sans-serif}</style>',
            f'<rect width="{self.width:g}" height="{self.height:g}" fill="#fff"/>',
            *(_svg_of(item) for item in self.items),
            "</svg>",
        ]
        return "\n".join(lines) + "\n"

    def pdf(self) -> bytes:
        """One page, the standard font Helvetica, nothing compressed: a person can read it."""
        scale = f"{POINTS_A_MM:.8f} 0 0 {-POINTS_A_MM:.8f} 0 {self.height * POINTS_A_MM:.4f} cm"
        content = "\n".join([scale, "1 J 1 j", *(_pdf_of(item) for item in self.items)]).encode("cp1252", "replace")
        box = f"[0 0 {self.width * POINTS_A_MM:.4f} {self.height * POINTS_A_MM:.4f}]"
        fonts = "/F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >> "
        fonts += "/F2 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica-Bold /Encoding /WinAnsiEncoding >>"
        objects = [
            b"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
            b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            f"<< /Type /Page /Parent 2 0 R /MediaBox {box} /Contents 4 0 R "
            f"/Resources << /Font << {fonts} >> >> >>".encode(),
            b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
        ]
        out = bytearray(b"%PDF-1.6\n")
        places = []
        for number, body in enumerate(objects, 1):
            places.append(len(out))
            out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
        start = len(out)
        out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
        out += b"".join(b"%010d 00000 n \n" % place for place in places)
        out += b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, start)
        return bytes(out)


def _svg_of(item: Path | Circle | Words) -> str:
    match item:
        case Path():
            points = " L".join(f"{x:g} {y:g}" for x, y in item.points)
            dash = "" if item.dash is None else f' stroke-dasharray="{item.dash:g}"'
            stroke = f'stroke="{item.colour}" stroke-width="{item.width:g}" fill="{item.fill}"'
            return f'<path d="M{points}{"Z" if item.closed else ""}" {stroke}{dash}/>'
        case Circle():
            stroke = f'stroke="{item.colour}" stroke-width="{item.width:g}" fill="{item.fill}"'
            return f'<circle cx="{item.x:g}" cy="{item.y:g}" r="{item.diameter / 2:g}" {stroke}/>'
        case Words():
            bold = ' font-weight="bold"' if item.bold else ""
            place = f'x="{item.x:g}" y="{item.y:g}" font-size="{item.size:g}" text-anchor="{item.anchor}"'
            return f'<text {place} fill="{item.colour}"{bold}>{escape(item.words)}</text>'


def _colour(word: str, operator: str) -> str:
    word = word.lstrip("#")
    word = word if len(word) == 6 else "".join(2 * letter for letter in word)
    return " ".join(f"{int(word[i : i + 2], 16) / 255:.3f}" for i in (0, 2, 4)) + f" {operator}"


def _pdf_of(item: Path | Circle | Words) -> str:
    match item:
        case Path():
            (x, y), *rest = item.points
            path = f"{x:.4f} {y:.4f} m " + " ".join(f"{x:.4f} {y:.4f} l" for x, y in rest)
            dash = "[] 0 d" if item.dash is None else f"[{item.dash:g}] 0 d"
            return f"{_colour(item.colour, 'RG')} {item.width:g} w {dash} {_filled(item.fill)}{path} " + (
                _paint(item.fill, closed=item.closed)
            )
        case Circle():
            return f"{_colour(item.colour, 'RG')} {item.width:g} w [] 0 d {_filled(item.fill)}{_round(item)} " + _paint(
                item.fill, closed=True
            )
        case Words():
            columns = _columns(item.words, item.size)
            x = item.x - {"start": 0.0, "middle": columns / 2, "end": columns}[item.anchor]
            words = item.words.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)").replace("Ω", " ohm")
            font = "F2" if item.bold else "F1"
            place = f"/{font} {item.size:g} Tf 1 0 0 -1 {x:.3f} {item.y:.3f} Tm"
            return f"BT {_colour(item.colour, 'rg')} {place} ({words}) Tj ET"


def _filled(fill: str) -> str:
    return "" if fill == "none" else _colour(fill, "rg") + " "


def _paint(fill: str, *, closed: bool) -> str:
    if fill == "none":
        return "s" if closed else "S"
    return "b" if closed else "B"


def _round(item: Circle) -> str:
    r, k = item.diameter / 2, item.diameter / 2 * _KAPPA
    x, y = item.x, item.y
    quarters = (
        ((x + r, y + k), (x + k, y + r), (x, y + r)),
        ((x - k, y + r), (x - r, y + k), (x - r, y)),
        ((x - r, y - k), (x - k, y - r), (x, y - r)),
        ((x + k, y - r), (x + r, y - k), (x + r, y)),
    )
    curves = " ".join(" ".join(f"{a:.4f} {b:.4f}" for a, b in quarter) + " c" for quarter in quarters)
    return f"{x + r:.4f} {y:.4f} m {curves}"


def _columns(words: str, size: float) -> float:
    """About how wide Helvetica writes them: half its size a letter."""
    return 0.5 * size * len(words)
