"""How large a screen's words appear on the usual panels to a player who stands, to be held against what is asked."""

from __future__ import annotations

from pedal.modes.screen_model import ScreenModel
from pedal.screen.drawing import Density, lay_out
from pedal.screen.legibility import PanelSize, arc_minutes

# Written out, and not taken from the code, so that a change of it is seen.
LEAST_MINUTES, PREFERRED_MINUTES = 16.0, 20.0
"""ISO 9241-3 as quoted elsewhere; ISO 9241-303 from memory."""
PANELS = {
    "0.91 inch": PanelSize(5.6, 32),
    "0.96 inch": PanelSize(10.9),
    "1.3 inch": PanelSize(14.7),
    "2.42 inch": PanelSize(27.5),
}
"""Usual panels of 128 columns; heights of the lit area from memory, to be measured on one's own."""


def standing_rows(model: ScreenModel, *, density: Density = "glance", rows: int = 64) -> int | None:
    """Height in dots of the smallest capitals that must be read standing; None if the screen has no such words."""
    canvas = lay_out(model, density=density, height=rows)
    return min((word.cap_rows for word in canvas.written if word.standing and word.words), default=None)


def screen_arc_minutes(model: ScreenModel, panel: PanelSize, distance_m: float) -> float | None:
    """The smallest angle of what must be read standing on this screen; None if nothing must."""
    rows = standing_rows(model, rows=panel.rows)
    return None if rows is None else arc_minutes(rows * panel.height_mm / panel.rows, distance_m)
