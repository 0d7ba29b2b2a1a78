"""A bitmap that remembers what was written on it and how large, so that legibility is computed from the real thing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from pedal.screen.letters import POSTER_FACE, SMALL_FACE, Face, spell, stencil, width_of, word_mask
from pedal.values import frozen

Anchor = Literal["left", "middle", "right"]
LIT, DARK = 255, 0
Rows = NDArray[np.int16]
"""One row for each column."""


@frozen
class Lettering:
    """How words are drawn: face, whole-number enlargement, narrow gaps or not."""

    face: Face
    scale: int = 1
    tight: bool = False

    @property
    def cap_rows(self) -> int:
        """Height of a capital in dots."""
        return self.face.cap_rows * self.scale

    @property
    def rows(self) -> int:
        """Height of a line in dots, tails included."""
        return self.face.rows * self.scale

    def width(self, words: str) -> int:
        """Columns that the words take."""
        return width_of(words, self.face, self.scale, tight=self.tight)


SMALL = Lettering(SMALL_FACE)
MEDIUM = Lettering(POSTER_FACE, 2)
LARGE = Lettering(POSTER_FACE, 3)
LARGE_TIGHT = Lettering(POSTER_FACE, 3, tight=True)
HUGE = Lettering(POSTER_FACE, 4)


class Written(NamedTuple):
    """Words on the canvas: where and how, and whether they must be read standing."""

    words: str
    x: int
    y: int
    lettering: Lettering
    standing: bool
    dark: bool

    @property
    def columns(self) -> int:
        """Columns that the words take."""
        return self.lettering.width(self.words)

    @property
    def cap_rows(self) -> int:
        """Height of a capital in dots."""
        return self.lettering.cap_rows


class Canvas:
    """A mode "1" bitmap to draw on; `written` lists every word in order."""

    def __init__(self, width: int = 128, height: int = 64) -> None:
        self.width, self.height = width, height
        self.bitmap = Image.new("1", (width, height))
        self.ink = ImageDraw.ImageDraw(self.bitmap)
        self.written: list[Written] = []

    def write(
        self,
        words: str,
        x: int,
        y: int,
        lettering: Lettering = SMALL,
        *,
        anchor: Anchor = "left",
        standing: bool = False,
        dark: bool = False,
        cleared: bool = False,
    ) -> int:
        """Draw words with their top at `y`; returns the column after the last one.

        `dark` writes on a lit ground; `cleared` first wipes the ground, for words that lie in the string's field.
        """
        letters = spell(words, lettering.face)
        columns = lettering.width(letters)
        x -= {"left": 0, "middle": columns // 2, "right": columns}[anchor]
        if cleared and columns:
            self.fill(x - 1, y - 1, columns + 2, lettering.cap_rows + 2, dark=True)
        self.written.append(Written(words, x, y, lettering, standing, dark))
        cut = word_mask(letters, lettering.face, lettering.scale, tight=lettering.tight)
        self.ink.bitmap((x, y), cut, fill=DARK if dark else LIT)
        return x + columns

    def lay(self, under: Canvas) -> None:
        """What another canvas of this size holds, first of all: it covers what is there."""
        self.bitmap.paste(under.bitmap)
        self.written += under.written

    def fill(self, x: int, y: int, columns: int, rows: int, *, dark: bool = False) -> None:
        """A solid box; nothing if it has no area."""
        if columns > 0 and rows > 0:
            self.ink.rectangle((x, y, x + columns - 1, y + rows - 1), fill=DARK if dark else LIT)

    def stroke(self, x: int, stroke: Stroke) -> None:
        """A stroke whose first column is `x`."""
        self.ink.bitmap((x, stroke.highest), stroke.around, fill=DARK)
        self.ink.bitmap((x, stroke.highest), stroke.lit, fill=LIT)

    def frame(self, x: int, y: int, columns: int, rows: int, thickness: int = 1) -> None:
        """An outlined box."""
        self.ink.rectangle((x, y, x + columns - 1, y + rows - 1), outline=LIT, width=thickness)


@frozen
class Stroke:
    """A line cut out once: `around` is what it darkens, to set it off from what it crosses, `lit` the line itself."""

    highest: int
    around: Image.Image
    lit: Image.Image


def stroke_of(tops: Rows, bottoms: Rows) -> Stroke:
    """In each column from its top row down to the one above its bottom row, with a dark row above and below."""
    highest, lowest = int(tops[tops.argmin()]) - 1, int(bottoms[bottoms.argmax()])
    rows = np.arange(highest, lowest + 1, dtype=np.int16)[:, np.newaxis]
    lit = (rows >= tops) & (rows < bottoms)
    around = lit.copy()
    around[:-1] |= lit[1:]
    around[1:] |= lit[:-1]
    return Stroke(highest, stencil(around), stencil(lit))


def fitting(words: str, columns: int, *choices: Lettering) -> Lettering:
    """The first of the choices, largest first, in which the words fit into so many columns; else the last."""
    return next((c for c in choices if c.width(words) <= columns), choices[-1])


def cut(words: str, columns: int, lettering: Lettering) -> str:
    """As much of the words as fits on one line, with an ellipsis where something is missing."""
    while lettering.width(words) > columns:
        words = words.rstrip("…")[:-1].rstrip() + "…"
    return words


def wrap(words: str, columns: int, lettering: Lettering) -> list[str]:
    """The words broken into lines of at most so many columns; one that is too long, at a hyphen or where it must be."""
    lines: list[str] = []
    for word in words.split():
        if lines and lettering.width(f"{lines[-1]} {word}") <= columns:
            lines[-1] += f" {word}"
            continue
        while lettering.width(word) > columns:
            fit = [n for n in range(len(word) - 1, 0, -1) if n == 1 or lettering.width(word[:n]) <= columns]
            cut = next((n for n in fit if word[n - 1] == "-"), fit[0])
            lines.append(word[:cut])
            word = word[cut:]
        lines.append(word)
    return lines


def ellipsis(words: Iterable[str], columns: int, lettering: Lettering, most: int) -> list[str]:
    """Sentences broken into at most so many lines; where more was said, the last one shown ends in an ellipsis."""
    lines = [line for sentence in words for line in wrap(sentence, columns, lettering)]
    if len(lines) <= most or most < 1:
        return lines[: max(0, most)]
    last = lines[most - 1]
    while lettering.width(last + "…") > columns:
        last = last[:-1]
    return [*lines[: most - 1], last.rstrip(" ,.;:") + "…"]
