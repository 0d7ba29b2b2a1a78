"""A text -> a QR code for a phone's camera, as large as the panel holds it, with its quiet zone.

The code is made by segno (pure Python, nothing behind it), by ISO/IEC 18004: four light modules around it are its quiet
zone. On a panel of 64 rows a module is one dot and version 9 (53 modules) is the largest that fits with them.
"""

from __future__ import annotations

from functools import lru_cache

from pedal.modes.screen_model import CodeScreen
from pedal.screen.canvas import LARGE, SMALL, Canvas, wrap

QUIET = 4
_LARGEST = {64: 9, 32: 1}
"""The largest version whose 17 + 4 v modules and quiet zone the rows hold."""
Modules = tuple[tuple[bool, ...], ...]


@lru_cache(4)
def modules_of(text: str, rows: int) -> Modules | None:
    """Dark modules, row by row; None if the text is too long for these rows, or segno is not installed.

    The error level is the highest that the version allows: M (15 % may be unreadable) at least, L on 32 rows.
    """
    try:
        import segno
    except ImportError:
        return None
    try:
        code = segno.make(text, micro=False, error="m" if rows >= 64 else "l", boost_error=True)
    except segno.DataOverflowError:
        return None
    if int(code.version) > _LARGEST.get(rows, 0):
        return None
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


def draw_code_page(canvas: Canvas, model: CodeScreen) -> None:
    """The code on a lit ground at the left, and beside it what it is for."""
    modules = modules_of(model.text if canvas.height >= 64 else model.short, canvas.height)
    if modules is None:
        lines = wrap("No code: the segno library is missing, or there is too much to say.", canvas.width - 2, SMALL)
        canvas.write("RECALL", 1, 1, LARGE, standing=True)
        for number, line in enumerate(lines[: (canvas.height - 27) // SMALL.rows]):
            canvas.write(line, 1, 27 + SMALL.rows * number)
        return
    side = len(modules) + 2 * QUIET
    # Off the edges: the picture wanders by a dot or two, and must not lose its quiet zone.
    left, top = 2, (canvas.height - side) // 2
    canvas.fill(left, top, side, side)
    for y, row in enumerate(modules):
        for x, dark in enumerate(row):
            if dark:
                canvas.fill(left + QUIET + x, top + QUIET + y, 1, 1, dark=True)
    canvas.write("SCAN", canvas.width - 1, 0, LARGE, anchor="right", standing=True)
    words = "point a phone's camera here: all of Recall as text" if canvas.height >= 64 else "for a phone's camera"
    for number, line in enumerate(wrap(words, canvas.width - side - 6, SMALL)):
        if 26 + SMALL.rows * (number + 1) <= canvas.height:
            canvas.write(line, side + 5, 26 + SMALL.rows * number)
