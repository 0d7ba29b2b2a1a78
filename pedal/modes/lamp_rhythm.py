"""What one lamp says by its rhythm alone: true, near, or that the input is too loud.

True is one long light, near two short ones, a miss stays dark; clipping is a quick flicker that goes on as long as it
lasts and drowns the rest. Never more than three flashes a second: WCAG 2.2, success criterion 2.3.1 (from memory).
"""

from __future__ import annotations

TRUE_S = 1.2
NEAR_S = 0.2
NEAR_GAP_S = 0.25
CLIP_PERIOD_S = 0.36
"""2.8 flashes a second."""


def lamp_level(word: str, age_s: float, *, clipped_s: float | None = None) -> float:
    """Brightness, 0 or 1, `age_s` seconds after the verdict `word` ("true", "near"; any other is dark).

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


class LampRhythm:
    """`.level(now_s, word, clipped=...)` follows what is to be said, and since when; times must not run back."""

    def __init__(self) -> None:
        self._heard = self._word = ""
        self._word_s = 0.0
        self._clipped_since_s: float | None = None

    def level(self, now_s: float, word: str, *, clipped: bool) -> float:
        """Brightness now. `word` is the last verdict, "" since a new note began, so that the same may come twice."""
        if word != self._heard:
            self._heard = word
            if word:
                self._word, self._word_s = word, now_s
        if not clipped:
            self._clipped_since_s = None
        elif self._clipped_since_s is None:
            self._clipped_since_s = now_s
        clipped_s = None if self._clipped_since_s is None else now_s - self._clipped_since_s
        return lamp_level(self._word, now_s - self._word_s, clipped_s=clipped_s)
