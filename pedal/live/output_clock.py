"""When a driver asked for samples, and by how much later it said they sound -> when a sample really sounds.

A driver asks as soon as it has room, so the least late of the last asks found it full, and from there to the sound the
way is always the same. How long it is the driver says; but one that ran dry may say anything for a quarter of a minute:
a sound server told up to 0.4 s too much (`tests/live/data/output_that_ran_dry.csv`). Meanwhile what it said before is
believed. That it ran dry is seen soon: it asks late for good.
"""

from __future__ import annotations

from collections import deque

LOOKS = 10
"""Asks of which the least late counts: 0.4 s of long blocks."""
DRY_S = 0.005
"""So much later for good: it ran dry."""
UNSURE_S = 20.0
"""So long is what a driver says not believed after that."""
FEWEST = 4
"""Asks before anything is said: at first a driver asks for all that it holds at once, and tells a delay of none."""
TOLD = 256
"""Asks whose delays count, by their middle: ten seconds of them."""


class OutputClock:
    """`.asked(now_s, rendered_s, delay_s)` at each ask; `.zero_s` is when the first sample sounded, by that clock."""

    def __init__(self) -> None:
        self._late: deque[float] = deque(maxlen=2 * LOOKS)
        self._ways: deque[float] = deque(maxlen=TOLD)
        self._unsure_until_s = float("-inf")

    def asked(self, now_s: float, rendered_s: float, delay_s: float) -> None:
        """The driver asks for more.

        rendered_s : what it has had so far, in seconds.
        delay_s : from now to the sound of the next sample, as the driver tells.
        """
        before_s = min(self._late, default=float("inf"))
        self._late.append(now_s - rendered_s)
        late = list(self._late)
        full = min(late[-LOOKS:])
        if len(late) > LOOKS and full > min(late[:-LOOKS]) + DRY_S:
            self._unsure_until_s = now_s + UNSURE_S
        if full < before_s - DRY_S and now_s >= self._unsure_until_s:
            self._ways.clear()  # it was not full until now
        if now_s >= self._unsure_until_s or not self._ways:
            self._ways.append(now_s - rendered_s + delay_s - full)

    @property
    def zero_s(self) -> float | None:
        """When the first sample of all sounded, by where the output is now; None before the first few asks."""
        if len(self._late) < FEWEST:
            return None
        ways = sorted(self._ways)
        return min(list(self._late)[-LOOKS:]) + ways[len(ways) // 2]

    def forget(self) -> None:
        """The stream is another one."""
        self._late.clear()
        self._ways.clear()
        self._unsure_until_s = float("-inf")
