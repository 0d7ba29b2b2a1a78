"""Raw edges of one switch -> presses and releases that count, and whether the contact can be trusted.

A mechanical contact bounces: eighteen kinds measured by Ganssle ("A Guide to Debouncing", 2004 and 2008; figures cited
from memory) bounced 1.6 ms on average, most under 6.2 ms, one freak for 157 ms. So a level counts once it has been
still for `debounce_s`, 20 ms by default, on both edges alike: a foot lets go slowly and bounces then too.
"""

from __future__ import annotations

from collections import deque

from pedal.values import frozen

RESTLESS_S = 0.5
"""A contact that is not still for 20 ms within this is broken, three times the worst that was published."""
FASTEST_CHANGES = 20
"""This many presses and releases within a second are ten stamps a second: no foot does that."""
QUIET_S = 2.0
"""A noisy contact is trusted again once it was silent this long, and open."""


@frozen
class Change:
    """A level that counts: since when, and down or up."""

    time_s: float
    pressed: bool


class Contact:
    """`.edge(...)` takes raw edges in order of time, `.settle(time_s)` gives the change that has become certain.

    pressed : the level that counts.
    noisy : edges come as from no foot; what they say must be ignored.
    """

    def __init__(self, debounce_s: float) -> None:
        self._debounce_s = debounce_s
        self._raw = False
        self._raw_since_s = float("-inf")
        self._burst_began_s = float("-inf")
        self._changes: deque[float] = deque(maxlen=FASTEST_CHANGES)
        self.pressed = False
        self.noisy = False

    def edge(self, time_s: float, pressed: bool) -> None:
        """A raw edge. One that repeats the level stands for two, the other lost on the way: it counts as movement."""
        if time_s - self._raw_since_s >= self._debounce_s:
            self._burst_began_s = time_s
        self._raw, self._raw_since_s = pressed, time_s
        if time_s - self._burst_began_s > RESTLESS_S:
            self.noisy = True

    @property
    def moving(self) -> bool:
        """The raw level is not the one that counts: something is about to change, or bounces."""
        return self._raw != self.pressed

    @property
    def due_s(self) -> float:
        """When the present raw level will count, if it stays."""
        return self._raw_since_s + self._debounce_s

    @property
    def raw_since_s(self) -> float:
        """Since when the raw level is what it is."""
        return self._raw_since_s

    def settle(self, time_s: float) -> Change | None:
        """The change that has become certain by `time_s`, dated back to where the level became still."""
        if self.noisy and not self._raw and time_s - self._raw_since_s >= QUIET_S:
            self.noisy = False
            self._changes.clear()
        if not self.moving or time_s < self.due_s:
            return None
        self.pressed = self._raw
        self._changes.append(self._raw_since_s)
        if len(self._changes) == FASTEST_CHANGES and self._raw_since_s - self._changes[0] < 1.0:
            self.noisy = True
        return Change(self._raw_since_s, self.pressed)
