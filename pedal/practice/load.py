"""Heavy bends that were asked of the hand, and how many more may be: counted by the model of force, over an hour.

Why there is a ceiling, and why it is where it is: no study known here says how many heavy bends a hand bears, so this
is a choice, and it is low on purpose. Heavy is what takes 12 N or more sideways (`pedal.theory.effort`, computed and
not measured). Ten, each held for about two seconds, load the hand for twenty seconds in the ten minutes of a Round,
three parts in a hundred; between any two of them other notes are fretted, and they are spread over the laps. A player
who knows that the hand bears more may raise it, and one whose hand is tired may set it to none. The hour is that of the
caution "ten minutes in the hour at least". None of this is medical advice.
"""

from __future__ import annotations

from collections import deque

HEAVY_MOST = 10
"""Heavy bends in an hour, unless the settings say otherwise."""
WINDOW_S = 3600.0


class Load:
    """`.add(time_s)` counts one heavy bend, `.left(now_s)` says how many more may be offered; times on one clock."""

    def __init__(self, most: int) -> None:
        self.most = most
        self._times: deque[float] = deque(maxlen=10_000)

    def add(self, time_s: float) -> None:
        """One heavy bend was played, however it was judged."""
        self._times.append(time_s)

    def within(self, now_s: float) -> int:
        """How many were played in the hour before."""
        return sum(now_s - time_s < WINDOW_S for time_s in self._times)

    def left(self, now_s: float) -> int:
        """How many more may be asked for."""
        return max(0, self.most - self.within(now_s))

    def free_in_s(self, now_s: float) -> float:
        """Seconds until another heavy bend may be asked for; 0 where one may be now."""
        if self.left(now_s) > 0 or not self._times:
            return 0.0
        counted = sorted(time_s for time_s in self._times if now_s - time_s < WINDOW_S)
        return max(0.0, counted[-self.most] + WINDOW_S - now_s) if self.most else WINDOW_S
