"""Where a moving pitch will be when the picture lights up."""

from __future__ import annotations

import math

_STEADY_CENTS_PER_S = 40.0
"""Slower than this the string is held: looking ahead would only show the noise of the slope."""
_MOST_CENTS = 60.0
_SLOPE_TAU_S = 0.03
_SAME_NOTE_CENTS = 150.0


class LookAhead:
    """`.ahead(time_s, hz, delay_s)`: the pitch `delay_s` later if the string goes on as it does; 0.0 in, 0.0 out."""

    def __init__(self) -> None:
        self._last: tuple[float, float] | None = None
        self._slope = 0.0

    @property
    def moving(self) -> bool:
        """Whether the string moves; never where there is no delay to look over."""
        return abs(self._slope) >= _STEADY_CENTS_PER_S

    def ahead(self, time_s: float, hz: float, delay_s: float) -> float:
        """Take the pitch of now, in hertz; the pitch to draw."""
        if hz <= 0 or delay_s <= 0:
            self._last, self._slope = None, 0.0
            return hz
        cents = 1200 * math.log2(hz)
        if self._last is not None and time_s > self._last[0]:
            step_s, step = time_s - self._last[0], cents - self._last[1]
            if abs(step) > _SAME_NOTE_CENTS:
                self._slope = 0.0
            else:
                self._slope += (step / step_s - self._slope) * (1 - math.exp(-step_s / _SLOPE_TAU_S))
        self._last = (time_s, cents)
        if not self.moving:
            return hz
        move = max(-_MOST_CENTS, min(_MOST_CENTS, self._slope * delay_s))
        return float(hz * 2 ** (move / 1200))
