"""What one lamp says by its rhythm alone: true, near, or that the input is too loud.

True is one long light, near two short ones, a miss stays dark; clipping is a quick flicker that goes on as long as it
lasts and drowns the rest. Never more than three flashes a second: WCAG 2.2, success criterion 2.3.1 (from memory).
"""

from __future__ import annotations

from typing import Literal

LampWord = Literal["true", "near", "missed", ""]

TRUE_S = 1.2
NEAR_S = 0.2
NEAR_GAP_S = 0.25
CLIP_PERIOD_S = 0.36
"""2.8 flashes a second."""


def lamp_level(word: LampWord, age_s: float, *, clipped_s: float | None = None) -> float:
    """Brightness, 0 or 1, `age_s` seconds after the verdict `word`.

    clipped_s : seconds since the input began to clip; None while it does not.
    """
    if clipped_s is not None:
        return 1.0 if clipped_s % CLIP_PERIOD_S < CLIP_PERIOD_S / 2 else 0.0
    if age_s < 0.0:
        return 0.0
    if word == "true":
        return 1.0 if age_s < TRUE_S else 0.0
    if word == "near":
        first, second = age_s < NEAR_S, NEAR_S + NEAR_GAP_S <= age_s < 2 * NEAR_S + NEAR_GAP_S
        return 1.0 if first or second else 0.0
    return 0.0
