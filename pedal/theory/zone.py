"""The blue zone: how far above the fretted note a curl may end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Height = Literal["too_low", "near_below", "inside", "near_above", "too_high"]


class ZoneError(ValueError):
    """Edges that are no zone."""


@dataclass(frozen=True, slots=True)
class BlueZone:
    """Edges in cents above the fretted note as it was heard at rest. Inside the zone no height is the correct one.

    Raises `ZoneError` where they do not rise from above 0 to below 100.

    Notes
    -----
    The defaults, and what they rest on: the low edge is 6/5 and 9/5, which lie 15.6 and 17.6 cents above the tempered
    third and seventh. The high edge is the quarter-tone, or 16/13, and one just-noticeable difference of about 10 cents
    for intervals (Hill & Summers 2007, J. Acoust. Soc. Am. 121: categories about 70 cents wide). The measured means of
    sung blue thirds and sevenths, 19 and 38 cents, lie inside (Cutting 2018, Empirical Musicology Review 13). Below
    `least_cents` a curl cannot be told from the glide of a hard pluck; above `near_cents` the ear files it under the
    next semitone. All this was measured on voices, none on guitars, and each edge is uncertain by ten cents or so.
    """

    least_cents: float = 8.0
    low_cents: float = 15.0
    high_cents: float = 60.0
    near_cents: float = 75.0

    def __post_init__(self) -> None:
        if not 0 < self.least_cents <= self.low_cents < self.high_cents <= self.near_cents < 100:
            raise ZoneError(
                "the edges of the blue zone must rise from above 0 to below 100 cents, got "
                f"{self.least_cents:g}, {self.low_cents:g}, {self.high_cents:g}, {self.near_cents:g}"
            )

    def height(self, cents: float) -> Height:
        """Where a curl of so many cents ends; edges belong to the zone.

        >>> BlueZone().height(35.0), BlueZone().height(70.0)
        ('inside', 'near_above')
        """
        if cents < self.least_cents:
            return "too_low"
        if cents < self.low_cents:
            return "near_below"
        if cents <= self.high_cents:
            return "inside"
        return "near_above" if cents <= self.near_cents else "too_high"


BLUE_ZONE = BlueZone()
