"""Names of targets and whole numbers as a player reads them."""

from __future__ import annotations

from pedal.theory.spelling import for_eyes


def target_for_eyes(name: str, *, plural: bool = False) -> str:
    """The name of a target with its accidentals drawn; `plural` for a sentence.

    >>> target_for_eyes("b7→1"), target_for_eyes("pre-bend b7→1", plural=True), target_for_eyes("b3 curl", plural=True)
    ('♭7→1', 'pre-bends ♭7→1', 'curls on ♭3')
    """
    if name.endswith(" curl"):
        degree = for_eyes(name.removesuffix(" curl"))
        return f"curls on {degree}" if plural else f"{degree} curl"
    kind, space, degrees = name.rpartition(" ")
    drawn = "→".join(for_eyes(degree) for degree in degrees.split("→"))
    if plural:
        return f"{kind or 'bend'}s {drawn}"
    return f"{kind}{space}{drawn}"


def whole_words(value: float, *, signed: bool = False) -> str:
    """A whole number with a true minus sign, and never a minus zero.

    >>> whole_words(-21.6), whole_words(3.2, signed=True), whole_words(-0.2)
    ('−22', '+3', '0')
    """
    whole = round(value)
    sign = "−" if whole < 0 else "+" if signed and whole > 0 else ""
    return f"{sign}{abs(whole)}"
