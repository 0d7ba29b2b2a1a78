"""How long -> the parts of a Round in order, each with its share of the time.

    warm-up   plain notes, curls, light half steps: a quarter of the time, once
    lap       scale bends, then pre-bends; one lap for each five minutes

Within a part the force rises; every lap begins light again, so the hand is not led up to the heaviest once and kept
there. A lick will be a part of its own at the end of a lap: a part is a word here, a row in `LAP`, and items of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedal.practice.item import Part

WARM_UP: tuple[tuple[Part, float], ...] = (("plain", 0.08), ("curl", 0.10), ("half", 0.07))
LAP: tuple[tuple[Part, float], ...] = (("bend", 2.0), ("prebend", 1.0))
"""Shares of the whole, and of a lap. Choices."""
MINUTES_A_LAP = 5


@dataclass(frozen=True, slots=True)
class Section:
    """One stretch of a Round. `share` of the time that this and all later ones have."""

    part: Part
    share: float


def sections_of(minutes: int) -> tuple[Section, ...]:
    """The sections of a Round of so many minutes.

    >>> [section.part for section in sections_of(10)]
    ['plain', 'curl', 'half', 'bend', 'prebend', 'bend', 'prebend']
    """
    laps = max(1, round(minutes / MINUTES_A_LAP))
    rest = 1.0 - sum(share for _, share in WARM_UP)
    whole = sum(share for _, share in LAP) * laps
    return tuple(Section(part, share) for part, share in WARM_UP) + tuple(
        Section(part, rest * share / whole) for _ in range(laps) for part, share in LAP
    )
