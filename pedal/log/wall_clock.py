"""The time of day on a machine that may have no clock battery: a hint, and whether to doubt it."""

from __future__ import annotations

from collections.abc import Callable

JUMP_S = 2.0
"""A clock that is being disciplined slews by at most 500 ppm (adjtimex), 1.8 s in an hour: more at once is a jump."""

RELEASE_S = 1_750_000_000.0
"""June 2025. No pedal of this kind was switched on before it, so an earlier clock was never set."""


class WallClock:
    """Compares the time of day with the time that only runs."""

    def __init__(self, wall: Callable[[], float], monotonic: Callable[[], float]) -> None:
        self._wall, self._monotonic = wall, monotonic
        self.begun_s = wall()
        self._begun_monotonic_s = monotonic()

    def doubtful_after(self, latest_s: float | None) -> bool:
        """Whether the begin is doubtful: before the release, or before `latest_s`, the begin of an earlier session."""
        return self.begun_s < max(RELEASE_S, latest_s or 0.0)

    def later_s(self) -> float:
        """The time of day now, as the running time has it since the begin."""
        return self.begun_s + (self._monotonic() - self._begun_monotonic_s)

    def jump_s(self, known_s: float) -> float:
        """How far the time of day has moved against the running time since the begin; `known_s` if that is not news."""
        moved_s = (self._wall() - self.begun_s) - (self._monotonic() - self._begun_monotonic_s)
        return known_s if abs(moved_s - known_s) < JUMP_S else moved_s
