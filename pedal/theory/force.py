"""The physics of a bend: how far the string must be pushed sideways, and with what force.

The finger pushes the string sideways by y at the fret. Nut to fret is x, fret to saddle L, and the path of the string
is sqrt(x^2 + y^2) + sqrt(L^2 + y^2): what it gained on nut to saddle is stretch, and stretch is tension. Two limiting
cases: in case A the string slides freely over fret, nut and saddle, so that all of it shares the stretch; in case B it
is locked at the fret and the speaking part stretches alone. Real bends are near A; B is reported as a bound.

Source of the physics: Hooke's law and the equation of the string. Grimes, "String Theory - The Physics of
String-Bending and Other Electric Guitar Techniques", PLoS ONE 9(7): e102088 (2014), derives case B; his equation was
read at second hand and agrees with our derivation. Case A and its inverse are our own.
"""

from __future__ import annotations

import math

from pedal.theory.strings import GuitarString
from pedal.values import frozen

SCALE_LENGTH_M = 0.648
SCALE_LEAST_M, SCALE_MOST_M = 0.4, 0.95
SEMITONES_MOST = 5.0


@frozen
class StretchedString:
    """A string on its guitar, at rest.

    open_hz : pitch of the open string (without capo).
    scale_m : nut (or capo) to saddle, metres.
    after_m : string behind nut and saddle that can slide through; 0 if both lock.
    compliance_m_n : how far the anchorage gives per newton; 0 for a fixed bridge.
    """

    string: GuitarString
    open_hz: float
    scale_m: float = SCALE_LENGTH_M
    after_m: float = 0.0
    compliance_m_n: float = 0.0

    def __post_init__(self) -> None:
        for name, value, positive in (
            ("open_hz", self.open_hz, True),
            ("scale_m", self.scale_m, True),
            ("after_m", self.after_m, False),
            ("compliance_m_n", self.compliance_m_n, False),
        ):
            if not math.isfinite(value) or value < 0 or (positive and value == 0):
                raise ValueError(f"{name} must be {'above' if positive else 'at least'} 0, got {value}")

    @property
    def rest_n(self) -> float:
        """Tension at rest: mass per length times the square of twice the length times the frequency."""
        return self.string.mass_kg_m * (2 * self.scale_m * self.open_hz) ** 2

    @property
    def give_m_n(self) -> float:
        """Metres of stretch that one newton more takes, anchorage included."""
        return (self.scale_m + self.after_m) / self.string.stretch_n + self.compliance_m_n


@frozen
class Push:
    """What one bend takes.

    travel_m : sideways travel of the finger (case A).
    force_n : sideways force of the finger at the end of it (case A).
    tension_n : tension of the string while it is bent.
    breaking_share : that tension against the least breaking tension of the steel, 0 to 1 and beyond.
    locked_travel_m : travel if the string were locked at the fret (case B), the upper bound.
    """

    travel_m: float
    force_n: float
    tension_n: float
    breaking_share: float
    locked_travel_m: float


def push_for(stretched: StretchedString, *, fret_share: float, semitones: float) -> Push:
    """Travel and force that raise a fretted note by `semitones`.

    Parameters
    ----------
    stretched : StretchedString
        The string at rest.
    fret_share : float
        Speaking length as a share of the scale, in the open range 0 to 1: 2 ** (-n / 12) at fret n.
    semitones : float
        Rise, above 0 and at most `SEMITONES_MOST`; fractions for a curl.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    First order, cents = 600 log2(1 + dT / T0), exact to 4 cents for three semitones against the formula that counts the
    string's own lengthening. Neglected: stiffness of the wire, and Hooke's law on the unstretched length (0.7 % of the
    travel at most). Wound strings depend on an assumed core: take those results as +-15 %.
    """
    _check(fret_share, semitones)
    speaking_m = stretched.scale_m * fret_share
    behind_m = stretched.scale_m - speaking_m
    rise_n = stretched.rest_n * (2.0 ** (semitones / 6) - 1)
    tension_n = stretched.rest_n + rise_n
    travel_m = _travel(behind_m, speaking_m, stretch_m=rise_n * stretched.give_m_n)
    sines = travel_m / math.hypot(behind_m, travel_m) + travel_m / math.hypot(speaking_m, travel_m)
    return Push(
        travel_m=travel_m,
        force_n=tension_n * sines,
        tension_n=tension_n,
        breaking_share=tension_n / stretched.string.breaking_n,
        locked_travel_m=speaking_m * math.sqrt((1 + rise_n / stretched.string.stretch_n) ** 2 - 1),
    )


def _travel(behind_m: float, speaking_m: float, *, stretch_m: float) -> float:
    """Sideways travel that lengthens the path by `stretch_m`: a point of the ellipse with foci at nut and saddle."""
    path_m = behind_m + speaking_m + stretch_m
    near_m = (path_m + (behind_m**2 - speaking_m**2) / path_m) / 2
    return math.sqrt(near_m**2 - behind_m**2)


def _check(fret_share: float, semitones: float) -> None:
    if not 0 < fret_share < 1:
        raise ValueError(f"fret_share must be above 0 and below 1, got {fret_share}")
    if not 0 < semitones <= SEMITONES_MOST:
        raise ValueError(f"semitones must be above 0 and at most {SEMITONES_MOST:g}, got {semitones}")
