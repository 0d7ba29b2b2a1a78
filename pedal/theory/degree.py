"""Degree words: "1", "b3", "#4". The number names the letter, the accidental moves it against the major scale."""

from __future__ import annotations

import re
from functools import lru_cache

_MAJOR = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}
_DEGREE = re.compile(r"^(b{0,2}|#{0,2})([1-7])$")
CHROMATIC = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")
"""What a note outside the scale is called, by semitones above the tonic: the usual flat names of the blues."""


class DegreeError(ValueError):
    """A word that is no degree, or degrees that are no scale."""


@lru_cache(256)
def semitones_of(degree: str) -> int:
    """Semitones above the tonic of a degree word such as "b3" (0 to 11).

    >>> semitones_of("b3"), semitones_of("#4"), semitones_of("bb7")
    (3, 6, 9)
    """
    return (_MAJOR[int(degree.lstrip("b#"))] - degree.count("b") + degree.count("#")) % 12


def letter_steps_of(degree: str) -> int:
    """Letters above the tonic's own: 0 for "1", 2 for "b3"."""
    return int(degree.lstrip("b#")) - 1


def parse_degrees(words: str) -> tuple[str, ...]:
    """Degrees of an own scale, written such as "1 b3 4 5 b7" or "1, ♭3, 4, 5, ♭7".

    Raises
    ------
    DegreeError
        If a word is no degree, the first is not 1, they do not rise, or there are fewer than 2 or more than 12.
    """
    degrees = tuple(words.replace("♭", "b").replace("♯", "#").replace(",", " ").split())
    for degree in degrees:
        if not _DEGREE.match(degree):
            raise DegreeError(f"{degree!r} is no degree: give 1 to 7 with b or # before it, such as b3 or #4")
    if len(degrees) < 2:
        raise DegreeError(f"a scale of {len(degrees)} notes is too small: give 2 to 12 degrees, such as 1 b3 4 5 b7")
    if degrees[0] != "1":
        raise DegreeError(f"a scale begins with degree 1, not {degrees[0]}")
    heights = [semitones_of(degree) for degree in degrees]
    for before, degree, low, high in zip(degrees, degrees[1:], heights, heights[1:], strict=False):
        if high <= low:
            raise DegreeError(f"degree {degree} does not lie above {before}: give the degrees in rising order")
    return degrees
