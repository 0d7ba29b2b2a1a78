"""The strip of a lick: a shape for each note, in the order played, a caret under one, a bar over the one reached.

What became of a note has the shapes of the ladder's rungs where it means the same (block true, frame near, cross
missed); curls are slopes, and end in a wall where they were cut off. What is to be played is drawn thinner.
"""

from __future__ import annotations

from pedal.modes.screen_model import LickScreen
from pedal.screen.canvas import LIT, SMALL, Canvas, ellipsis, wrap
from pedal.theory.spelling import for_eyes

LARGEST, USUAL, SMALLEST = 13, 9, 4
FEW = 7
"""So many notes have room for the largest shapes."""
WIDEST_ROW = 126
PER_ROW = 13
GAP = 2
CARET_ROWS = 4


def strip_rows(count: int, rows: int) -> int:
    """How many lines a strip of so many notes takes, of at most `rows`."""
    return min(rows, max(1, -(-count // PER_ROW)))


def line_of(model: LickScreen, columns: int, lines: int) -> list[str]:
    """The line in so many lines; where that is too little, without the count, which stands above in large figures."""
    words = for_eyes(model.line)
    if len(wrap(words, columns, SMALL)) > lines and model.count:
        words = words.partition(", ")[2] or words
    return ellipsis((words,), columns, SMALL, lines) if words else []


def draw_strip(canvas: Canvas, model: LickScreen, y: int, *, rows: int, size: int) -> int:
    """Draw it from the row `y` on, in one or two lines; the row below it."""
    marks = model.strip
    lines = strip_rows(len(marks), rows)
    per_line = -(-len(marks) // lines) if marks else 1
    pitch = min(size + 4, WIDEST_ROW // per_line)
    size = max(SMALLEST, min(size, pitch - 1))
    for line in range(lines):
        some = marks[line * per_line : (line + 1) * per_line]
        left = 1 + max(0, (WIDEST_ROW - pitch * len(some)) // 2)
        for place, mark in enumerate(some):
            x, here = left + pitch * place, line * per_line + place
            draw_mark(canvas, mark, x, y, size)
            if here in (model.caret, model.reached):
                _caret(canvas, x + size // 2, y + size + 1, full=here == model.reached)
        y += size + CARET_ROWS + GAP
    return y


def _caret(canvas: Canvas, x: int, y: int, *, full: bool) -> None:
    """Points up at its note; under the note reached it is a bar."""
    if full:
        canvas.fill(x - 3, y + 1, 7, 2)
        return
    for row in range(CARET_ROWS - 1):
        canvas.fill(x - row, y + row, 1 + 2 * row, 1)


def draw_mark(canvas: Canvas, mark: str, x: int, y: int, size: int) -> None:
    """One shape in a square of `size` dots."""
    end, half = size - 1, size // 2
    thick = 2 if size >= 6 else 1
    match mark:
        case "plain":
            canvas.fill(x, y + size - thick, size, thick)
        case "curl_cut":
            _slope(canvas, x, y + end, x + end, y + half - 1, thick)
            canvas.fill(x + size - thick, y, thick, size)
        case "curl_released":
            _slope(canvas, x, y + end, x + half, y + half - 1, thick)
            _slope(canvas, x + half, y + half - 1, x + end, y + end, thick)
        case "bent":
            canvas.fill(x, y, size, size)
        case "near":
            canvas.frame(x, y, size, size, thick)
        case "missed":
            _slope(canvas, x, y, x + end, y + end, thick)
            _slope(canvas, x, y + end, x + end, y, thick)
        case "left_out":
            canvas.fill(x + half - 1, y + half - 1, 3, 3)
        case "added":
            canvas.fill(x + half - thick // 2, y, thick, size)
            canvas.fill(x, y + half - thick // 2, size, thick)
        case "to_play":
            canvas.fill(x, y + end, size, 1)
        case "to_curl":
            _slope(canvas, x, y + end, x + end, y + half, 1)
            canvas.fill(x + end, y + half - 1, 1, half + 1)
        case "to_bend":
            _slope(canvas, x, y + end, x + end, y, 1)
        case "to_prebend":
            canvas.fill(x, y, half + 1, 1)
            _slope(canvas, x + half, y, x + end, y + end, 1)
        case _:
            canvas.fill(x + half, y + size - 2, 2, 2)


def _slope(canvas: Canvas, x: int, y: int, to_x: int, to_y: int, thick: int) -> None:  # noqa: PLR0917 (two points)
    for step in range(thick):
        canvas.ink.line((x, y - step, to_x, to_y - step if to_y >= step else to_y), fill=LIT)
