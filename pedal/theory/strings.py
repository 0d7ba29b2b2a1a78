"""A string set in the trade's words -> what the physics needs: mass, stiffness, strength.

A set is written highest string first, in inches: `0.010,0.013,0.017,0.026w,0.036w,0.046w`. A `w` marks a wound string;
its core may follow (`0.026w0.0135`), else a usual one is assumed.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

METRES_AN_INCH = 0.0254
YOUNG_PA = 200e9
"""Music wire: 190 GPa (a data base entry) to 207 GPa (handbooks, from memory); the middle is a choice."""
STEEL_KG_M3 = 7850.0
"""Handbook value for spring wire (from memory); a data base gives 7800."""
WINDING_KG_M3 = 8000.0
"""Plated steel, from memory; pure nickel is 8900."""
GAUGE_LEAST_IN, GAUGE_MOST_IN = 0.006, 0.15
PLAIN_MOST_IN = 0.03
PLAIN_USUALLY_TO_IN = 0.0205
CORE_LEAST_SHARE = 0.2
LIGHT_SET = "0.010,0.013,0.017,0.026w,0.036w,0.046w"

_CORES_IN = ((0.020, 0.0118), (0.026, 0.0135), (0.036, 0.0150), (0.046, 0.0170), (0.150, 0.0378))
"""Outside and core of usual wound strings: typical values from memory, the last by the slope before it."""
_STRENGTH_KSI = (
    (0.009, 393.0),
    (0.010, 387.0),
    (0.011, 382.0),
    (0.013, 373.0),
    (0.016, 362.0),
    (0.018, 356.0),
    (0.020, 350.0),
)
"""Least tensile strength by diameter in inches: a wire trade table to ASTM A228."""
_PASCALS_A_KSI = 6.894757e6
_WORD = re.compile(r"^(\d*\.\d+|\d+)(?:(w)(\d*\.\d+)?)?$", re.IGNORECASE)


class StringSetError(ValueError):
    """Words that are no string set, or a set that does not match the tuning."""


@dataclass(frozen=True, slots=True)
class GuitarString:
    """One string: outside diameter and, for a wound one, the diameter of its steel core; inches."""

    gauge_in: float
    core_in: float | None = None

    @property
    def wound(self) -> bool:
        """Whether a wire is wound round a steel core, which then carries the tension alone."""
        return self.core_in is not None

    @property
    def steel_in(self) -> float:
        """Diameter of the steel that carries the tension."""
        return self.gauge_in if self.core_in is None else self.core_in

    @property
    def steel_m2(self) -> float:
        """Cross-section of the steel that carries the tension, square metres."""
        return math.pi / 4 * (self.steel_in * METRES_AN_INCH) ** 2

    @property
    def mass_kg_m(self) -> float:
        """Mass per length; a close round winding fills pi/4 of the ring around the core (touching wires)."""
        core = STEEL_KG_M3 * self.steel_m2
        outside_m2 = math.pi / 4 * (self.gauge_in * METRES_AN_INCH) ** 2
        return core + WINDING_KG_M3 * math.pi / 4 * (outside_m2 - self.steel_m2)

    @property
    def stretch_n(self) -> float:
        """Young's modulus times cross-section: newtons per unit of strain. Only the core stretches."""
        return YOUNG_PA * self.steel_m2

    @property
    def breaking_n(self) -> float:
        """Least tension at which the steel breaks."""
        inches, strengths = zip(*_STRENGTH_KSI, strict=True)
        return float(np.interp(self.steel_in, inches, strengths)) * _PASCALS_A_KSI * self.steel_m2

    def __str__(self) -> str:
        return f"{self.gauge_in:.3f}{'w' if self.wound else ''}"


def usual_string(gauge_in: float) -> GuitarString:
    """The string usually sold in a gauge: plain up to 0.020 inches, wound with a usual core above (common practice).

    >>> str(usual_string(0.017)), str(usual_string(0.026))
    ('0.017', '0.026w')
    """
    return GuitarString(gauge_in, None if gauge_in <= PLAIN_USUALLY_TO_IN else usual_core_in(gauge_in))


def usual_core_in(gauge_in: float) -> float:
    """Core diameter to assume for a wound string of a gauge, both in inches; at most 0.6 of it.

    >>> usual_core_in(0.046)
    0.017
    """
    outsides, cores = zip(*_CORES_IN, strict=True)
    return min(float(np.interp(gauge_in, outsides, cores)), 0.6 * gauge_in)


def parse_string_set(words: str, *, strings: int | None = None) -> tuple[GuitarString, ...]:
    """The strings of a set, highest first, from words such as `LIGHT_SET`.

    Parameters
    ----------
    words : str
        Gauges in inches between commas or spaces; thousandths ("10, 13, 26w") are read as such.
    strings : int or None
        How many there must be; None for any number.

    Raises
    ------
    StringSetError
        For a word that is no gauge, a gauge or core out of range, or another number of strings.
    """
    parts = words.replace(",", " ").split()
    if strings is not None and len(parts) != strings:
        raise StringSetError(
            f"{len(parts)} gauges do not match a tuning of {strings} strings: give {strings}, highest string first"
        )
    return tuple(_parse_string(part) for part in parts)


def _parse_string(word: str) -> GuitarString:
    match = _WORD.match(word)
    if not match:
        raise StringSetError(f"{word!r} is no gauge: give inches, with w for a wound string, such as 0.010 or 0.026w")
    gauge_in = float(match[1]) if "." in match[1] else float(match[1]) / 1000
    wound = match[2] is not None
    most_in = GAUGE_MOST_IN if wound else PLAIN_MOST_IN
    if not GAUGE_LEAST_IN <= gauge_in <= most_in:
        kind = "wound" if wound else "plain"
        raise StringSetError(f"a {kind} string of {word} is out of range: give {GAUGE_LEAST_IN} to {most_in} inches")
    if not wound:
        return GuitarString(gauge_in)
    core_in = float(match[3]) if match[3] else usual_core_in(gauge_in)
    if not CORE_LEAST_SHARE * gauge_in <= core_in < gauge_in:
        least = CORE_LEAST_SHARE * gauge_in
        raise StringSetError(f"the core of {word} is out of range: give {least:.4f} to under {gauge_in:.4f} inches")
    return GuitarString(gauge_in, core_in)
