"""A position of the neck -> one drawing: where its bends lie, how far each is pushed, how heavy it is, what is curled.

String 1 lies on top, the nut to the left, frets in their true proportions. The shape of a spot tells the grade, the
arrow beside it points where the string is pushed and is as long as the finger travels, a wave marks a curl.
"""

from __future__ import annotations

import math
from typing import get_args

from pedal.screen.line_art import GREY, INK, PAPER, Disc, LineArt, Path, Shape, Square, Words
from pedal.theory.effort import Grade
from pedal.values import frozen

WIDTH = 1280
_LEFT, _RIGHT, _TOP, _ROW, _FOOT = 120.0, 40.0, 120.0, 74.0, 140.0
_RADIUS = 21.0
_PIXELS_A_MM = 2.2
_INLAYS = (3, 5, 7, 9, 15, 17, 19, 21, 27, 29, 31, 33)
_GRADES: tuple[Grade, ...] = get_args(Grade)


@frozen
class NeckMark:
    """One note of the position and its bend, named as for eyes; `pulled` goes toward string 1, else away from it."""

    string: int
    fret: int
    degree: str
    target: str
    semitones: int
    travel_mm: float
    force_n: float
    grade: Grade
    curl: bool
    pulled: bool


@frozen
class PlainMark:
    """One note of the position that no hand bends to the next one, named as for eyes."""

    string: int
    fret: int
    degree: str
    curl: bool


@frozen
class NeckSheet:
    """Everything that the drawing says. `open_notes` and `gauges_in`: string 1 first."""

    title: str
    subtitle: str
    open_notes: tuple[str, ...]
    gauges_in: tuple[float, ...]
    capo: int
    marks: tuple[NeckMark, ...]
    plain: tuple[PlainMark, ...] = ()


def neck_picture(canvas: NeckSheet) -> LineArt:
    """The drawing of a position."""
    grid = _Grid(canvas)
    shapes: list[Shape] = [
        Words(_LEFT, 36, canvas.title, 28),
        Words(_LEFT, 70, canvas.subtitle, 17),
        *_pedal(canvas, grid),
    ]
    for mark in canvas.marks:
        shapes += _mark(mark, grid.middle_of(mark.fret), grid.row_of(mark.string))
    for spot in canvas.plain:
        x, y = grid.middle_of(spot.fret), grid.row_of(spot.string)
        shapes += _spot("light", x, y, spot.degree)
        if spot.curl:
            shapes.append(_wave(x, y - _RADIUS - 10))
    shapes += _legend(grid.bottom + 98)
    return LineArt(WIDTH, round(grid.bottom + _FOOT), tuple(shapes))


class _Grid:
    """Where frets and strings lie on the paper."""

    def __init__(self, canvas: NeckSheet) -> None:
        frets = [*(mark.fret for mark in canvas.marks), *(spot.fret for spot in canvas.plain)]
        self.first, self.last = max(canvas.capo, min(frets) - 1), max(frets)
        self.bottom = _TOP + _ROW * (len(canvas.open_notes) - 1)
        self._left, self._right = math.exp2(-self.first / 12), math.exp2(-self.last / 12)

    def wire_of(self, fret: int) -> float:
        """Across: where the wire of a fret lies."""
        share = (self._left - math.exp2(-fret / 12)) / (self._left - self._right)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def middle_of(self, fret: int) -> float:
        """Across: where the finger lies, a little left of the middle so that the figures fit beside it."""
        before, wire = self.wire_of(fret - 1), self.wire_of(fret)
        return before + 0.32 * (wire - before)

    def row_of(self, string: int) -> float:
        """Down: where a string lies."""
        return _TOP + _ROW * (string - 1)


def _pedal(canvas: NeckSheet, grid: _Grid) -> list[Shape]:
    """Frets with their numbers, strings with their notes."""
    shapes: list[Shape] = []
    for fret in range(grid.first, grid.last + 1):
        x = grid.wire_of(fret)
        nut = fret == canvas.capo
        shapes.append(Path(((x, _TOP - 14), (x, grid.bottom + 14)), 9.0 if nut else 2.5, INK if nut else GREY))
        if fret > grid.first:
            middle = grid.middle_of(fret)
            shapes.append(Words(middle, grid.bottom + 42, str(fret), 19, "middle"))
            shapes += _inlay(fret, middle, grid.bottom + 60)
    if canvas.capo and grid.first == canvas.capo:
        shapes.append(Words(grid.wire_of(canvas.capo), grid.bottom + 42, f"capo {canvas.capo}", 15, "middle"))
    for string, (note, gauge) in enumerate(zip(canvas.open_notes, canvas.gauges_in, strict=True), 1):
        y = grid.row_of(string)
        shapes.append(Path(((_LEFT - 8, y), (WIDTH - _RIGHT, y)), 1.0 + 70 * gauge))
        shapes.append(Words(_LEFT - 24, y, note, 19, "right"))
        shapes.append(Words(_LEFT - 90, y, str(string), 15, "middle", GREY))
    return shapes


def _inlay(fret: int, x: float, y: float) -> list[Shape]:
    """The dots of the fingerboard's edge."""
    if fret % 12 == 0:
        return [Disc(x - 6, y, 2.5, INK, 0.5), Disc(x + 6, y, 2.5, INK, 0.5)]
    return [Disc(x, y, 2.5, INK, 0.5)] if fret in _INLAYS else []


def _mark(mark: NeckMark, x: float, y: float) -> list[Shape]:
    """A spot with its degree, its arrow, its figures, and a wave if it is curled."""
    aside = x + _RADIUS + 13
    way = -1.0 if mark.pulled else 1.0
    tip = y + way * max(8.0, mark.travel_mm * _PIXELS_A_MM)
    figures = f"{mark.travel_mm:.0f} mm  {mark.force_n:.0f} N"
    room = Path(((aside + 8, y), (aside + 8 + 6.8 * len(figures), y)), 40, PAPER)
    shapes: list[Shape] = [
        room,
        *_spot(mark.grade, x, y, mark.degree),
        Path(((aside, y), (aside, tip)), 2.5),
        Path(((aside - 5, tip - way * 8), (aside, tip), (aside + 5, tip - way * 8)), 2.5),
        Words(aside + 11, y - 10, f"+{mark.semitones}  {mark.target}", 16),
        Words(aside + 11, y + 10, figures, 13),
    ]
    return [*shapes, _wave(x, y - _RADIUS - 10)] if mark.curl else shapes


def _spot(grade: Grade, x: float, y: float, degree: str) -> list[Shape]:
    """Light: a thin ring. Firm: a thick ring. Heavy: a black disc. Not with this set: a black square."""
    letter = Words(x, y, degree, 18, "middle", INK if grade in {"light", "firm"} else PAPER)
    if grade == "not_with_this_set":
        return [Square(x, y, _RADIUS - 2, INK), letter]
    return [Disc(x, y, _RADIUS - 1, INK if grade == "heavy" else PAPER, 6.0 if grade == "firm" else 2.0), letter]


def _wave(x: float, y: float) -> Path:
    """The sign of a curl."""
    return Path(tuple((x - 16 + step, y - 4 * math.sin(step / 32 * 4 * math.pi)) for step in range(33)), 3.0)


def _legend(y: float) -> list[Shape]:
    """What the signs mean."""
    shapes: list[Shape] = []
    x = _LEFT + _RADIUS
    for grade in _GRADES:
        words = grade.replace("_", " ")
        shapes += [*_spot(grade, x, y, ""), Words(x + _RADIUS + 9, y, words, 16)]
        x += 2 * _RADIUS + 40 + 9 * len(words)
    shapes += [_wave(x, y), Words(x + 26, y, "curl it", 16)]
    x += 130
    length = 10 * _PIXELS_A_MM
    shapes += [
        Path(((x, y - length / 2), (x, y + length / 2)), 2.5),
        Words(x + 12, y, "10 mm of travel, the way the string goes", 16),
    ]
    return shapes
