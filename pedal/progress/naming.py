"""Names of targets and whole numbers as a player reads them."""

from __future__ import annotations

from pedal.theory.spelling import for_eyes


def folded(name: str) -> str:
    """A player's name as people tell names apart.

    >>> folded(" Ann  Lee") == folded("ann lee")
    True
    """
    return " ".join(name.split()).casefold()


def target_for_eyes(name: str, *, plural: bool = False) -> str:
    """The name of a target with its accidentals drawn; `plural` for a sentence.

    >>> target_for_eyes("b7→1"), target_for_eyes("pre-bend to b3", plural=True), target_for_eyes("b3 curl", plural=True)
    ('♭7→1', 'pre-bends to ♭3', 'curls on ♭3')
    """
    if name.startswith("pre-bend to "):
        return f"pre-bend{'s' if plural else ''} to {for_eyes(name.removeprefix('pre-bend to '))}"
    if name.endswith(" curl"):
        degree = for_eyes(name.removesuffix(" curl"))
        return f"curls on {degree}" if plural else f"{degree} curl"
    drawn = "→".join(for_eyes(degree) for degree in name.split("→"))
    return f"bends {drawn}" if plural else drawn


def whole_words(value: float, *, signed: bool = False, digits: int = 0) -> str:
    """A number with a true minus sign, and never a minus zero; whole, or with so many digits after the point.

    >>> whole_words(-21.6), whole_words(3.2, signed=True), whole_words(-0.2), whole_words(-0.26, digits=1)
    ('−22', '+3', '0', '−0.3')
    """
    rounded = round(value, digits)
    sign = "−" if rounded < 0 else "+" if signed and rounded > 0 else ""
    return f"{sign}{abs(rounded):.{digits}f}"


def digits_of(low: float, high: float) -> int:
    """How many digits after the point an interval needs so that its ends can be told apart, at most two.

    >>> digits_of(-25, -20), digits_of(-0.2, 0.4), digits_of(0.27, 0.36)
    (0, 1, 2)
    """
    return 0 if high - low >= 1.5 else 1 if high - low >= 0.15 else 2
