"""Text art -> letters of any whole size, and how long a word becomes."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pedal.safe_text import unaccented
from pedal.screen.poster_letters import POSTER
from pedal.screen.small_letters import SMALL

Rows = tuple[str, ...]
Dots = NDArray[np.bool_]
SIGNS = frozenset("#.")
UNKNOWN = "?"
_NEAREST = str.maketrans({"`": "'", '"': "'", "[": "(", "]": ")", "_": "-"})


class Face(NamedTuple):
    """One alphabet: rows of a letter in all, rows of a capital, columns between letters and of a blank.

    A tuple, because each word is looked up under its face, and a tuple is looked up soonest.
    """

    name: str
    rows: int
    cap_rows: int
    gap: int
    blank: int
    capitals_only: bool


POSTER_FACE = Face("poster", rows=8, cap_rows=8, gap=1, blank=2, capitals_only=True)
SMALL_FACE = Face("small", rows=9, cap_rows=7, gap=1, blank=3, capitals_only=False)


def read_art(art: str, rows: int) -> dict[str, Rows]:
    """Letters of a sheet of text art: a line of names, then `rows` lines of `#` and `.`. ValueError if ragged."""
    lines = [line.split() for line in art.splitlines() if line.strip()]
    letters: dict[str, Rows] = {}
    for top in range(0, len(lines), rows + 1):
        names, *band = lines[top : top + rows + 1]
        if len(band) < rows or any(len(line) != len(names) for line in band):
            raise ValueError(f"ragged text art under {' '.join(names)}")
        for name, glyph in zip(names, zip(*band, strict=True), strict=True):
            if name in letters or len(set(map(len, glyph))) != 1 or not SIGNS.issuperset("".join(glyph)):
                raise ValueError(f"the letter {name} is drawn twice, ragged, or with other signs than # and .")
            letters[name] = glyph
    return letters


@cache
def alphabet(face: Face) -> dict[str, Rows]:
    """All letters of a face, read once."""
    return read_art(POSTER if face.name == "poster" else SMALL, face.rows)


def dots_of(rows: Rows) -> Dots:
    """The drawing as an array of rows and columns, true where it is lit."""
    signs = np.frombuffer("".join(rows).encode(), np.uint8).reshape(len(rows), -1)
    return np.asarray(signs == ord("#"))


def enlarge(drawing: Dots, scale: int) -> Dots:
    """The same drawing `scale` times as large, with slopes for stairs and round outer corners.

    Where two lit squares meet only by their corners, the dark squares beside the joint give it a little of theirs; a
    lit square that sticks out by a corner loses it. Nothing that touched is parted.
    """
    height, width = drawing.shape
    around = np.zeros((height + 2, width + 2), bool)
    around[1:-1, 1:-1] = drawing
    # A layer for each corner of the squares: upper left, upper right, lower left, lower right.
    up, level, down = around[:-2], around[1:-1], around[2:]
    beyond = np.array([[up[:, :-2], up[:, 2:]], [down[:, :-2], down[:, 2:]]])
    over, beside = np.array([up[:, 1:-1], down[:, 1:-1]]), np.array([level[:, :-2], level[:, 2:]])
    gives_way = (over[:, np.newaxis] == beside) & ~beyond
    gives_way &= ((over != drawing) & (over[::-1] == drawing))[:, np.newaxis] & (beside[::-1] == drawing)
    turned = (gives_way[:, :, np.newaxis, np.newaxis] & _corners(scale)).any(axis=(0, 1))
    large: Dots = (turned ^ drawing).transpose(2, 0, 3, 1).reshape(height * scale, width * scale)
    return large


@cache
def _corners(scale: int) -> Dots:
    """What of a square belongs to each of its corners, shape (2, 2, scale, scale, 1, 1): the same at every place."""
    steps = np.arange(scale)
    upper_left = steps[:, np.newaxis] + steps < max(1, scale - 2)
    each = [[upper_left[::down, ::along] for along in (1, -1)] for down in (1, -1)]
    return np.array(each)[..., np.newaxis, np.newaxis]


@cache
def mask(face: Face, letter: str, scale: int) -> Image.Image:
    """The letter as a mode "1" picture, cut once for each size."""
    drawing = dots_of(alphabet(face)[letter])
    return stencil(enlarge(drawing, scale) if scale > 1 else drawing)


def stencil(dots: Dots) -> Image.Image:
    """An array of rows and columns as a mode "1" picture."""
    return Image.frombytes("1", (dots.shape[1], dots.shape[0]), dots.tobytes(), "raw", "1;8")


@lru_cache(256)
def word_mask(letters: str, face: Face, scale: int, *, tight: bool = False) -> Image.Image:
    """Spelled letters side by side as one mode "1" picture: a frame says mostly the words of the last one."""
    picture = Image.new("1", (max(1, width_of(letters, face, scale, tight=tight)), face.rows * scale))
    gap, x = gap_of(face, scale, tight=tight), 0
    for letter in letters:
        if letter == " ":
            x += face.blank * scale + gap
            continue
        cut = mask(face, letter, scale)
        picture.paste(cut, (x, 0))
        x += cut.width + gap
    return picture


@lru_cache(512)
def spell(words: str, face: Face) -> str:
    """The words in letters that the face has; what it lacks without its accent, else as the nearest sign, else `?`."""
    known = alphabet(face)
    drawn = ""
    for letter in words:
        sign = letter.upper() if face.capitals_only else letter
        plain = sign if sign in known or sign == " " else unaccented(letter).translate(_NEAREST)
        plain = plain.upper() if face.capitals_only else plain
        drawn += "".join(c if c in known or c == " " else UNKNOWN for c in plain)
    return drawn


def gap_of(face: Face, scale: int, *, tight: bool) -> int:
    """Blank columns between two letters; `tight` takes a third off, where a long word would not fit otherwise."""
    gap = face.gap * scale
    return max(1, gap * 2 // 3) if tight else gap


@lru_cache(512)
def width_of(words: str, face: Face, scale: int = 1, *, tight: bool = False) -> int:
    """Columns from the first letter's left edge to the last one's right edge."""
    letters = spell(words, face)
    if not letters:
        return 0
    widths = [face.blank if c == " " else len(alphabet(face)[c][0]) for c in letters]
    return sum(widths) * scale + gap_of(face, scale, tight=tight) * (len(letters) - 1)
