"""Back a target: which one came before, in the order that they are asked for."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from pedal.modes.rungs import Rung
from pedal.modes.state import Order

REMEMBERED = 24
"""Targets by need that one may go back through: two positions of them."""


def by_force(rungs: Sequence[Rung], among: Sequence[int]) -> list[int]:
    """These rungs from the lightest to the heaviest, of equals the lower first."""
    return sorted(among, key=lambda i: (rungs[i].force_n, i))


class Way:
    """`.leave(index)` is told what was asked for; `.back(...)` says what to go back to.

    By need no order says what came before, because each try moves it: there it is what was asked for.
    """

    def __init__(self) -> None:
        self._left: deque[int] = deque(maxlen=REMEMBERED)

    def leave(self, index: int | None) -> None:
        """Another rung is asked for than this one, if there was one."""
        if index is not None:
            self._left.append(index)

    def back(self, now: int | None, rungs: Sequence[Rung], among: Sequence[int], order: Order) -> int | None:
        """Of these rungs, by their numbers in `among`, the one before; None where there is none.

        now : the number of the one that is asked for; None is behind the last.
        """
        if order == "by_need":
            return self._last_left(now, among)
        every = range(len(rungs))
        ordered = list(every) if order == "in_order" else by_force(rungs, every)
        before = ordered if now is None else ordered[: ordered.index(now)]
        return next((index for index in reversed(before) if index in among), None)

    def _last_left(self, now: int | None, among: Sequence[int]) -> int | None:
        while self._left:
            index = self._left.pop()
            if index in among and index != now:
                return index
        return None
