"""How large the letters appear to a player who stands, in minutes of arc, and whether that is enough.

height = 2 pi x distance x minutes / 21600 (NUREG-0700); 20 to 22 minutes preferred (ISO 9241-3 as quoted
elsewhere; ISO 9241-303 from memory). The height of a letter is that of its lit dots on the panel.
"""

from __future__ import annotations

import math

from pedal.screen.canvas import HUGE, LARGE
from pedal.values import frozen

MINUTES_A_TURN = 21600
PREFERRED_MINUTES = 20.0


@frozen
class PanelSize:
    """The lit area of a panel: its height in millimetres and in rows of dots."""

    height_mm: float
    rows: int = 64


def arc_minutes(height_mm: float, distance_m: float) -> float:
    """Angle that a height subtends at a distance, in minutes of arc.

    >>> round(arc_minutes(9.31, 1.6), 1)
    20.0
    """
    if not (height_mm > 0 and distance_m > 0):
        raise ValueError(f"height and distance must be positive, got {height_mm} mm and {distance_m} m")
    return height_mm / (1000 * distance_m) * MINUTES_A_TURN / (2 * math.pi)


def warnings_for(panel: PanelSize, distance_m: float) -> list[str]:
    """What to tell a player whose panel is too small for where they stand; empty if the words can be read.

    The figure of a verdict is larger than its word, so a panel may serve for the one and not for the other.
    """
    word_mm, figure_mm = (letters.cap_rows * panel.height_mm / panel.rows for letters in (LARGE, HUGE))
    word, figure = arc_minutes(word_mm, distance_m), arc_minutes(figure_mm, distance_m)
    if word >= PREFERRED_MINUTES:
        return []
    near_m = distance_m * word / PREFERRED_MINUTES
    needed_mm = panel.height_mm * PREFERRED_MINUTES / word
    warning = (
        f"letters of {word_mm:.1f} mm appear as {word:.0f} minutes of arc from {distance_m:g} m, "
        f"and {PREFERRED_MINUTES:.0f} are wanted: come within {near_m:.1f} m, or take a panel {needed_mm:.0f} mm high"
    )
    if figure >= PREFERRED_MINUTES and panel.rows > 32:
        warning += f" (the figure of a verdict is {figure:.0f} minutes and can be read)"
    return [warning]
