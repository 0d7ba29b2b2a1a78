"""What keeps a panel young and readable: dimming, blanking, a picture that wanders by a dot, inverse and half-turn.

Organic panels age by their light: a picture that stands still burns in.
"""

from __future__ import annotations

from PIL import Image, ImageChops

DIM_SHARE = 0.25
"""Share of the brightness while nobody plays. Controllers cannot go much darker by contrast alone (from memory)."""
WANDER_EVERY_S = 60.0
WANDER = ((0, 0), (1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1))
"""One dot around the middle and back, a step at a time: the layouts leave one dot free on each side of 64 rows."""


def brightness(idle_s: float, *, dim_after_s: float, blank_after_s: float) -> float:
    """Share of the configured brightness after so many seconds without a sound or a press: 1, `DIM_SHARE`, then 0."""
    if idle_s >= blank_after_s:
        return 0.0
    return DIM_SHARE if idle_s >= dim_after_s else 1.0


def shift_at(shown_s: float) -> tuple[int, int]:
    """Columns and rows that the picture is moved by, after so many seconds of showing; -1, 0 or 1 each."""
    return WANDER[int(shown_s // WANDER_EVERY_S) % len(WANDER)]


def dressed(
    bitmap: Image.Image, *, shift: tuple[int, int] = (0, 0), inverse: bool = False, rotation: int = 0
) -> Image.Image:
    """The bitmap as the panel shall show it, of the same size.

    shift : dots to the right and down; what leaves the panel is cut off.
    inverse : dark on light.
    rotation : 0, or 180 degrees for a panel upside down; raises `ValueError` for any other.
    """
    if rotation not in {0, 180}:
        raise ValueError(f"rotation must be 0 or 180 degrees, got {rotation}")
    moved = bitmap
    if shift != (0, 0):
        moved = Image.new("1", bitmap.size)
        moved.paste(bitmap, shift)
    if rotation == 180:
        moved = moved.transpose(Image.Transpose.ROTATE_180)
    return ImageChops.invert(moved) if inverse else moved
