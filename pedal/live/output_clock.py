"""When a driver asked for samples, and by how much later it said they sound -> when a sample really sounds.

What a driver says of its delay is believed, but not after it ran dry: then it may say anything for a quarter of a
minute. A sound server told up to 0.4 s too much (`tests/live/data/output_that_ran_dry.csv`). That it ran dry is seen
soon, because it asks late for good; and as it asks whenever it has room, the least late of its last asks found it full.
From there to the sound the way is as long as it was before.
"""

from __future__ import annotations

from collections import deque

LOOKS = 10
"""Asks that are looked at together: 0.4 s of long blocks."""
DRY_S = 0.02
"""So much later for good: it ran dry. A server that changes its buffer for another program asks up to 12 ms later."""
UNSURE_S = 20.0
"""So long is what a driver says not believed after that."""
FEWEST = 4
"""Asks before anything is said: at first a driver asks for all that it holds at once, and tells a delay of none."""


class OutputClock:
    """`.asked(now_s, rendered_s, delay_s)` at each ask; `.zero_s` is when the first sample sounded, by that clock."""

    def __init__(self) -> None:
        self._late: deque[float] = deque(maxlen=2 * LOOKS)
        self._told: deque[float] = deque(maxlen=LOOKS)
        self._way_s: float | None = None
        self._unsure_until_s = float("-inf")

    def asked(self, now_s: float, rendered_s: float, delay_s: float) -> None:
        """The driver asks for more.

        rendered_s : what it has had so far, in seconds.
        delay_s : from now to the sound of the next sample, as the driver tells.
        """
        self._late.append(now_s - rendered_s)
        late = list(self._late)
        if len(late) > LOOKS and min(late[-LOOKS:]) > min(late[:-LOOKS]) + DRY_S:
            self._unsure_until_s = now_s + UNSURE_S
        if now_s < self._unsure_until_s and self._way_s is not None:
            self._told.clear()
            return
        self._told.append(now_s - rendered_s + delay_s)
        if len(late) >= LOOKS and late[-1] < min(late) + DRY_S:  # one that asks late now may be running dry
            self._way_s = self._middle() - min(late[-LOOKS:])

    def _middle(self) -> float:
        return sorted(self._told)[len(self._told) // 2]

    @property
    def zero_s(self) -> float | None:
        """When the first sample of all sounded, by where the output is now; None before the first few asks."""
        if len(self._late) < FEWEST:
            return None
        if self._told:
            return self._middle()
        return min(list(self._late)[-LOOKS:]) + (self._way_s or 0.0)

    def forget(self) -> None:
        """The stream is another one."""
        self._late.clear()
        self._told.clear()
        self._way_s = None
        self._unsure_until_s = float("-inf")
