"""How long -> the parts of a Round in order, each with its share of the time.

    warm-up   plain notes, curls, light half steps: a quarter of the time, once
    lap       scale bends, then pre-bends; one lap for each five minutes
    lick      a kept lick, where there is one: after all laps, once

Within a part the force rises; every lap begins light again, so the hand is not led up to the heaviest once and kept
there.
"""

from __future__ import annotations

from pedal.practice.item import Part
from pedal.values import frozen

WARM_UP: tuple[tuple[Part, float], ...] = (("plain", 0.08), ("curl", 0.10), ("half", 0.07))
LAP: tuple[tuple[Part, float], ...] = (("bend", 2.0), ("prebend", 1.0))
"""Shares of the whole, and of a lap. Choices."""
MINUTES_A_LAP = 5
LICK_SHARE, LICK_MOST_S = 0.15, 90.0
"""Of the whole, and no more than this: three passes and some that were not right. Choices."""


@frozen
class Section:
    """One stretch of a Round. `share` of the time that this and all later ones have."""

    part: Part
    share: float


def sections_of(minutes: int, *, lick: bool = False) -> tuple[Section, ...]:
    """The sections of a Round of so many minutes; `lick`: there is one to be asked for.

    >>> [section.part for section in sections_of(10)]
    ['plain', 'curl', 'half', 'bend', 'prebend', 'bend', 'prebend']
    >>> [section.part for section in sections_of(5, lick=True)]
    ['plain', 'curl', 'half', 'bend', 'prebend', 'lick']
    """
    laps = max(1, round(minutes / MINUTES_A_LAP))
    last = min(LICK_SHARE, LICK_MOST_S / (60.0 * minutes)) if lick else 0.0
    rest = 1.0 - last - sum(share for _, share in WARM_UP)
    whole = sum(share for _, share in LAP) * laps
    return (
        *(Section(part, share) for part, share in WARM_UP),
        *(Section(part, rest * share / whole) for _ in range(laps) for part, share in LAP),
        *((Section("lick", last),) if lick else ()),
    )
