"""What became of the tries at one item: enough true ones, or enough that were not, and it is over."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from pedal.practice.item import Item

Outcome = Literal["true", "near", "missed"]
MOST_MISSES = 5
"""After five that were not true another thing does the hand more good than a sixth (a choice)."""


@dataclass(slots=True)
class Score:
    """The tries at an item in this part of a Round, in order; `errors` of all that had one, cents."""

    outcomes: list[Outcome] = field(default_factory=list)
    errors: list[float] = field(default_factory=list)

    @property
    def trues(self) -> int:
        """How many were true."""
        return self.outcomes.count("true")

    @property
    def misses(self) -> tuple[Outcome, ...]:
        """Those that were not, in order."""
        return tuple(outcome for outcome in self.outcomes if outcome != "true")

    def over(self, item: Item) -> bool:
        """Whether the item is done with."""
        return self.trues >= item.wanted or len(self.misses) >= MOST_MISSES
