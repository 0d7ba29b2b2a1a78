"""The string itself: it bows up as the player bends, to a post at the target; a notch remembers the highest point.

The string that touches the foot of the post is in tune, also while tuning, where it lies under, on, or above it.
Heights are drawn through a lens: near the target a dot is worth four cents, far from it ten or more, and the post
always stands in the same place, so the eye knows where to look.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pedal.modes.screen_model import StringPicture
from pedal.screen.canvas import LIT, Canvas, Stroke, stroke_of
from pedal.screen.letters import stencil
from pedal.values import frozen

LENS_CENTS = 50.0
"""This far to both sides of the target the lens spreads the picture."""
LENS_LOW, LENS_MIDDLE = 0.28, 0.62
"""Shares of the height at which the lens begins and where the target lies; it ends at the top."""
ZONE_LOW, ZONE_HIGH, ABOVE_ZONE, POST_ABOVE_ZONE = 0.08, 0.36, 0.48, 0.70
"""Shares of the height of a blue zone with a post above it, of where the lens begins, and of the post."""
OPEN_TOP_CENTS = 350.0
"""Top of the picture when there is no target: one and a half steps and a little."""
ZONE_TOP_CENTS = 90.0
"""Top of the picture of a curl: nearly a semitone, which no curl may reach."""
SAG_CENTS_A_DOT = 10.0
NOTCH_LEAST_CENTS = 12.0
"""A peak below this is no bend, only the sharp start of a hard pluck: no notch."""


@frozen
class Field:
    """Where on the canvas the string lives: `rest_y` is its row at rest, `rise` how many rows its top can climb."""

    x: int
    columns: int
    rest_y: int
    rise: int
    thickness: int = 3

    @property
    def middle(self) -> int:
        """The column where the finger pushes."""
        return self.x + self.columns // 2

    @property
    def top(self) -> int:
        """The highest row of the string's upper edge."""
        return self.rest_y - self.rise

    @property
    def reach(self) -> int:
        """Columns to each side of the middle that post, zone and notch keep to; the string's ends lie outside."""
        return min(26, self.columns * 2 // 5)


def scale_of_heights(picture: StringPicture) -> list[tuple[float, float]]:
    """Where the picture bends its scale: (cents, share of the rise), both rising from (0, 0) to (top, 1)."""
    target, zone = picture.target_cents, picture.zone_cents
    if target is None or target <= 0:
        return [(0.0, 0.0), (ZONE_TOP_CENTS if zone else OPEN_TOP_CENTS, 1.0)]
    top = (target + LENS_CENTS, 1.0)
    if zone is not None and 0 < zone[0] < zone[1] < target:
        begins = max(target - LENS_CENTS, (zone[1] + target) / 2)
        low, high = (zone[0], ZONE_LOW), (zone[1], ZONE_HIGH)
        return [(0.0, 0.0), low, high, (begins, ABOVE_ZONE), (target, POST_ABOVE_ZONE), top]
    begins = target - min(LENS_CENTS, 0.6 * target)
    return [(0.0, 0.0), (begins, LENS_LOW), (target, LENS_MIDDLE), top]


def share_of_rise(cents: float, scale: Sequence[tuple[float, float]]) -> float:
    """How far up the field a height is drawn, 0 (rest or below) to 1 (top). Never falls as cents rise."""
    for (low, low_share), (high, high_share) in pairwise(scale):
        if cents <= high:
            return low_share + (high_share - low_share) * (max(cents, low) - low) / (high - low)
    return 1.0


def level_of(cents: float, picture: StringPicture, field: Field) -> float:
    """Where the string's upper edge is at a height, in rows and parts of rows."""
    if cents < 0:
        return field.rest_y + min(2.0, -cents / SAG_CENTS_A_DOT)
    return field.rest_y - share_of_rise(cents, scale_of_heights(picture)) * field.rise


def row_of(cents: float, picture: StringPicture, field: Field) -> int:
    """The row of the string's upper edge at a height."""
    return round(level_of(cents, picture, field))


def draw_string(canvas: Canvas, picture: StringPicture, field: Field) -> None:
    """Draw post or zone, the notch, and the string as it is now."""
    if picture.blind:
        _draw_curtain(canvas, field)
        return
    apex = level_of(picture.now_cents, picture, field) if picture.now_cents is not None else field.rest_y
    if picture.target_cents is not None:
        _draw_post(canvas, picture, field)
    if picture.zone_cents is not None:
        _draw_zone(canvas, picture, field)
    if picture.target_cents is None and picture.zone_cents is None and picture.now_cents is not None:
        _draw_steps(canvas, picture, field)
    canvas.stroke(field.x, _line(field, apex))
    if picture.peak_cents is not None and picture.peak_cents >= NOTCH_LEAST_CENTS:
        _draw_notch(canvas, field, row_of(picture.peak_cents, picture, field))


def on_post(picture: StringPicture) -> bool:
    """Whether the string touches the post now."""
    if picture.now_cents is None or picture.target_cents is None:
        return False
    return abs(picture.now_cents - picture.target_cents) <= picture.true_cents


def in_zone(picture: StringPicture) -> bool:
    """Whether the string lies in the blue zone now."""
    if picture.now_cents is None or picture.zone_cents is None:
        return False
    return picture.zone_cents[0] <= picture.now_cents <= picture.zone_cents[1]


@cache
def bows(field: Field) -> NDArray[np.float64]:
    """How much of the apex's height each column has: 0 at the ends, 1 under the finger, and rounded there."""
    away = np.abs(np.arange(field.x, field.x + field.columns) - field.middle) / (field.columns / 2)
    return np.maximum(0.0, 1.0 - away**1.4)


@lru_cache(512)
def _line(field: Field, apex: float) -> Stroke:
    """Each column is rounded for itself, so that parts of a row show as a step that travels along the string.

    All columns at once, and kept: a string in motion is drawn for every frame, one that is held or shaken comes by the
    same whole cents again and again.
    """
    upper = np.rint(field.rest_y + (apex - field.rest_y) * bows(field)).astype(np.int16)
    before = np.concatenate((upper[:1], upper[:-1]))
    # A column reaches to the one before it, so that a steep string has no gaps.
    top = np.minimum(upper, before + 1)
    bottom = np.maximum(upper, before - 1) + field.thickness
    return stroke_of(top, bottom)


def _draw_post(canvas: Canvas, picture: StringPicture, field: Field) -> None:
    """A stem from above on a broad foot whose underside is the target; a solid block while the string touches it."""
    foot = row_of(picture.target_cents or 0.0, picture, field)
    if on_post(picture):
        canvas.fill(field.middle - field.reach, field.top, 2 * field.reach + 1, foot - field.top)
        return
    half = field.reach // 2
    canvas.fill(field.middle - half // 4, field.top, 2 * (half // 4) + 1, foot - field.top)
    canvas.fill(field.middle - half, foot - 4, 2 * half + 1, 4)


def _draw_zone(canvas: Canvas, picture: StringPicture, field: Field) -> None:
    """Two brackets that span the blue zone; solid walls while the string is between them."""
    low, high = picture.zone_cents or (0.0, 0.0)
    top, bottom = row_of(high, picture, field), row_of(low, picture, field) + field.thickness - 1
    depth = field.reach // 3
    left, right = field.middle - field.reach, field.middle + field.reach
    if in_zone(picture):
        canvas.fill(left, top, 2 * depth, bottom - top + 1)
        canvas.fill(right - 2 * depth + 1, top, 2 * depth, bottom - top + 1)
        return
    canvas.fill(left, top, 3, bottom - top + 1)
    canvas.fill(right - 2, top, 3, bottom - top + 1)
    for y in (top, bottom - 2):
        canvas.fill(left, y, depth, 3)
        canvas.fill(right - depth + 1, y, depth, 3)


def _draw_steps(canvas: Canvas, picture: StringPicture, field: Field) -> None:
    """Without a target: a tick for each semitone above the rest note, longer at the whole step."""
    for semitones in (1, 2, 3):
        y = row_of(100.0 * semitones, picture, field)
        length = field.reach // 3 if semitones == 2 else field.reach // 5
        canvas.fill(field.middle - field.reach, y, length, 2)
        canvas.fill(field.middle + field.reach - length + 1, y, length, 2)


def _draw_notch(canvas: Canvas, field: Field, y: int) -> None:
    """Two small wedges that point at the highest row reached."""
    wedges = _notch(field.reach * 5 // 8)
    canvas.ink.bitmap((field.middle - wedges.width // 2, y - 2), wedges, fill=LIT)


@cache
def _notch(away: int) -> Image.Image:
    """Both wedges, whose tips lie so many columns from the middle, cut out once."""
    dots = np.zeros((7, 2 * (away + 3) + 1), bool)
    for step in range(4):
        dots[3 - step : 4 + step, [3 - step, step - 4]] = True
    return stencil(dots)


def _draw_curtain(canvas: Canvas, field: Field) -> None:
    """Blind: the field is hatched, and nothing of the height shows."""
    for x in range(field.x, field.x + field.columns):
        for y in range(field.top, field.rest_y + field.thickness):
            if (x + y) % 6 == 0:
                canvas.ink.point((x, y), fill=255)


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
