"""Tuning with the same grammar: the string lies under, on, or above the foot of the post."""

from __future__ import annotations

from pedal.screen.canvas import Canvas
from pedal.screen.string_view import Field

FULL_CENTS = 50.0
"""Half a semitone reaches the edge of the field; past it the next string's name would be as near."""
TOUCH_CENTS = 1.0


def rows_off(cents: float, rise: int) -> int:
    """Rows between string and foot: a square root, so that one cent shows as two rows and fifty still fit."""
    share = min(1.0, abs(cents) / FULL_CENTS) ** 0.5
    rows = max(1, round(rise * share)) if abs(cents) > TOUCH_CENTS else 0
    return rows if cents >= 0 else -rows


def draw_tuning(canvas: Canvas, cents: float | None, field: Field) -> None:
    """The taut string across the field, the post's foot at the row `field.rest_y`, `field.rise` rows to both sides."""
    foot = field.rest_y
    touching = cents is not None and abs(cents) <= TOUCH_CENTS
    reach = 26 if touching else 13
    if touching:
        canvas.fill(field.middle - reach, foot - field.rise, 2 * reach + 1, field.rise)
    else:
        canvas.fill(field.middle - 3, foot - field.rise, 7, field.rise)
        canvas.fill(field.middle - reach, foot - 4, 2 * reach + 1, 4)
    if cents is None:
        return
    y = foot - rows_off(cents, field.rise)
    canvas.fill(field.x, y - 1, field.columns, field.thickness + 2, dark=True)
    canvas.fill(field.x, y, field.columns, field.thickness)
