"""A page of the set-up: read from near, with a hand or a foot on the switch."""

from __future__ import annotations

from PIL import Image

from pedal.screen.canvas import LARGE, LARGE_TIGHT, MEDIUM, SMALL, Canvas, Lettering, ellipsis, fitting
from pedal.screen.marks import badge_columns, draw_badge, draw_place
from pedal.setup.step import SetUpPage

WIDTH = 128
BAR_ROWS = 5
LOW = 32
"""A panel of so few rows has none for the rail of steps."""
PRESS, HOLD = "PRESS", "HOLD"


def draw_set_up(page: SetUpPage, *, height: int = 64) -> Image.Image:
    """A mode "1" picture of 128 columns and `height` rows."""
    return lay_out_set_up(page, height=height).bitmap


def lay_out_set_up(page: SetUpPage, *, height: int = 64) -> Canvas:
    """The drawn canvas, with its record of what was written."""
    canvas = Canvas(WIDTH, height)
    inset = 3 if page.edges else 1
    below = _foot(canvas, page, height)
    title = _title(page, WIDTH - 2 * inset, below - inset)
    canvas.write(page.title, inset, inset, title)
    y = inset + title.cap_rows + 3
    if page.bar is not None:
        _bar(canvas, page.bar, page.good, inset, y)
        y += BAR_ROWS + 3
    for line in ellipsis(page.lines, WIDTH - 2 * inset, SMALL, (below - y) // SMALL.rows):
        canvas.write(line, inset, y)
        y += SMALL.rows
    if page.edges:
        canvas.frame(0, 0, WIDTH, height)
        canvas.fill(inset + 7 * (page.beat % 17), height - 5, 6, 3)
    return canvas


def _title(page: SetUpPage, columns: int, rows: int) -> Lettering:
    """The largest letters that leave room for all that is said below."""
    bar = 0 if page.bar is None else BAR_ROWS + 3
    lines = len(ellipsis(page.lines, columns, SMALL, 9)) * SMALL.rows
    choices = [c for c in (LARGE, LARGE_TIGHT, MEDIUM) if c.cap_rows + 3 + bar + lines <= rows]
    return fitting(page.title, columns, *choices, SMALL)


def _foot(canvas: Canvas, page: SetUpPage, height: int) -> int:
    """What a short and a long press do, and how far the set-up is; the row above which the rest has its place."""
    low = height - (6 if page.edges else 0)
    if page.places and not page.edges and height > LOW:
        draw_place(canvas, min(page.place, page.places - 1), page.places, height - 3)
        low -= 4
    y = low - SMALL.cap_rows - 2
    if page.press:
        end = badge_columns(PRESS)
        draw_badge(canvas, PRESS, end, y)
        canvas.write(page.press, end + 3, y + 1)
    if page.hold:
        begin = WIDTH - SMALL.width(page.hold)
        draw_badge(canvas, HOLD, begin - 3, y)
        canvas.write(page.hold, begin, y + 1)
    return y - 1 if page.press or page.hold else low


def _bar(canvas: Canvas, share: float, good: tuple[float, float], x: int, y: int) -> None:
    """How loud, between two marks for where it should be."""
    columns = WIDTH - 2 * x
    canvas.frame(x, y, columns, BAR_ROWS)
    canvas.fill(x, y, round(columns * share), BAR_ROWS)
    for edge in good:
        at = x + min(columns - 1, round(columns * edge))
        canvas.fill(at - 1, y - 2, 3, BAR_ROWS + 4, dark=True)
        canvas.fill(at, y - 2, 1, BAR_ROWS + 4)
