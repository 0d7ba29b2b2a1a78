"""What a bend asks of the hand: travel, force, a plain grade, and which fingers.

Advice among players, not medical advice.
"""

from __future__ import annotations

from typing import Literal

from pedal.theory.cents import A4_HZ, A4_LEAST_HZ, A4_MOST_HZ, hz_of
from pedal.theory.force import SCALE_LEAST_M, SCALE_LENGTH_M, SCALE_MOST_M, Push, StretchedString, push_for
from pedal.theory.neck import PLAIN_NECK, Bend, Neck, Spot
from pedal.theory.strings import LIGHT_SET, GuitarString, StringSetError, parse_string_set
from pedal.values import frozen

Grade = Literal["light", "firm", "heavy", "not_with_this_set"]
BIG_BEND_SEMITONES = 3
UNKNOWN_N_A_SEMITONE = 5.0
"""Where the strings do not fit the tuning nothing can be computed: so much, and big bends count as heavy."""
HEAVY: frozenset[Grade] = frozenset({"heavy", "not_with_this_set"})
"""What counts against the ceiling of heavy bends."""
CAUTIONS = (
    "Warm up first: a few minutes of easy playing, then light bends, then firm ones.",
    "Stop at pain, numbness or tingling. If it stays, see a clinician.",
    "Rest: ten minutes in the hour at least, and few repeats of one-and-a-half-step bends.",
    "Heavy bends can be skipped, or crossed off for good; a lighter set or a lower tuning makes all of them easier.",
    "Forces are computed, not measured; for wound strings within about 15 %. This is no medical advice.",
)
"""Sources: not warming up was the risk factor found among 105 guitarists (Marreiro dos Santos & Minghelli 2024, Work);
ten minutes in the hour as in Horvath, "Playing (Less) Hurt", at second hand."""


class RigError(ValueError):
    """A guitar that cannot be."""


@frozen
class Thresholds:
    """From which sideways force a bend is firm, heavy, or not to be tried with this set; newtons.

    Raises `RigError` where the grades fall or the share is none.

    Notes
    -----
    A choice. For scale: squeezing all four fingers together at full effort gave about 42 N in 21 healthy adults
    (PMC2637467, abstract), which leaves one finger alone some 8 to 14 N by our estimate. `breaking_share` is the share
    of the steel's least strength beyond which no bend is advised.
    """

    firm_n: float = 6.0
    heavy_n: float = 12.0
    too_heavy_n: float = 18.0
    breaking_share: float = 0.9

    def __post_init__(self) -> None:
        if not 0 < self.firm_n <= self.heavy_n <= self.too_heavy_n:
            raise RigError(
                "the grades of force must not fall and begin above 0 N, got "
                f"{self.firm_n:g}, {self.heavy_n:g}, {self.too_heavy_n:g}"
            )
        if not 0 < self.breaking_share <= 1:
            raise RigError(f"the breaking share must be above 0 and at most 1, got {self.breaking_share:g}")

    def grade(self, push: Push) -> Grade:
        """The plain word for a push."""
        if push.force_n >= self.too_heavy_n or push.breaking_share >= self.breaking_share:
            return "not_with_this_set"
        if push.force_n >= self.heavy_n:
            return "heavy"
        return "firm" if push.force_n >= self.firm_n else "light"


@frozen
class Support:
    """Which finger bends (1 is the index finger) and how many lie on the string behind it.

    cramped : there is no room behind that fret for as many as the bend calls for.
    """

    finger: int
    behind: int
    cramped: bool

    @property
    def short(self) -> str:
        """For a small screen: "ring +2"."""
        return f"{_FINGERS[self.finger]} +{self.behind}" if self.behind else _FINGERS[self.finger]

    def __str__(self) -> str:
        alone = f"{_FINGERS[self.finger]} finger alone"
        behind = f"{_FINGERS[self.finger]} finger, {'one' if self.behind == 1 else 'two'} behind it"
        return (behind if self.behind else alone) + (", no room for more: better another place" if self.cramped else "")


@frozen
class Effort:
    """What one bend asks of the hand."""

    push: Push
    grade: Grade
    support: Support


@frozen
class Rig:
    """A strung guitar: everything that the force of a bend depends on.

    strings : highest first, as many as the tuning has; raises `StringSetError` for another count, or one that breaks.
    scale_m, a4_hz : raises `RigError` out of range.
    after_m, compliance_m_n : see `StretchedString`; 0 for strings that lock at nut and a fixed bridge.
    """

    neck: Neck = PLAIN_NECK
    strings: tuple[GuitarString, ...] = parse_string_set(LIGHT_SET)
    scale_m: float = SCALE_LENGTH_M
    a4_hz: float = A4_HZ
    after_m: float = 0.0
    compliance_m_n: float = 0.0
    thresholds: Thresholds = Thresholds()

    def __post_init__(self) -> None:
        wanted = self.neck.tuning.strings
        if len(self.strings) != wanted:
            raise StringSetError(
                f"{len(self.strings)} gauges do not match a tuning of {wanted} strings: give {wanted}, highest first"
            )
        if not SCALE_LEAST_M <= self.scale_m <= SCALE_MOST_M:
            raise RigError(
                f"a scale length of {1000 * self.scale_m:g} mm is out of range: "
                f"give {1000 * SCALE_LEAST_M:g} to {1000 * SCALE_MOST_M:g} mm"
            )
        if not A4_LEAST_HZ <= self.a4_hz <= A4_MOST_HZ:
            raise RigError(f"A4 at {self.a4_hz:g} Hz is out of range: give {A4_LEAST_HZ:g} to {A4_MOST_HZ:g} Hz")
        for number, string in enumerate(self.strings, 1):
            share = self.stretched(number).rest_n / string.breaking_n
            if share >= 1:
                raise StringSetError(
                    f"string {number} ({string}) would break before it reaches its pitch: "
                    "give a lower tuning or a shorter scale"
                )

    def stretched(self, number: int) -> StretchedString:
        """String `number` at rest, from the capo (or nut) on."""
        return StretchedString(
            self.strings[number - 1],
            hz_of(self.neck.midi(number, self.neck.capo), a4_hz=self.a4_hz),
            self.scale_m * 2.0 ** (-self.neck.capo / 12),
            self.after_m,
            self.compliance_m_n,
        )

    def push(self, spot: Spot, semitones: float) -> Push:
        """Travel and force that raise a fretted note by `semitones`."""
        fret_share = 2.0 ** (-(spot.fret - self.neck.capo) / 12)
        return push_for(self.stretched(spot.string), fret_share=fret_share, semitones=semitones)

    def effort(self, bend: Bend) -> Effort:
        """What a scale bend asks of the hand."""
        push = self.push(Spot(bend.string, bend.fret, bend.from_midi), bend.semitones)
        grade = self.thresholds.grade(push)
        return Effort(push, grade, support_for(grade, bend.semitones, room=bend.fret - self.neck.capo))


@frozen
class Weighed:
    """A bend as far as it can be known: its grade, the sideways force at its end in newtons, and the fingers."""

    grade: Grade
    force_n: float
    support: Support


def weigh(rig: Rig | None, bend: Bend) -> Weighed:
    """What a bend asks of the hand; `rig` is None where the strings do not fit the tuning.

    Then the grade is "heavy" for a bend of one and a half steps and more, "firm" for any other, and the force is
    `UNKNOWN_N_A_SEMITONE` for each semitone: an order, not a measure.
    """
    if rig is not None:
        effort = rig.effort(bend)
        return Weighed(effort.grade, effort.push.force_n, effort.support)
    grade: Grade = "heavy" if bend.semitones >= BIG_BEND_SEMITONES else "firm"
    support = support_for(grade, bend.semitones, room=bend.fret)
    return Weighed(grade, UNKNOWN_N_A_SEMITONE * bend.semitones, support)


def support_for(grade: Grade, semitones: int, *, room: int) -> Support:
    """Fingers for a bend: one for a light half step, two for a firm one or a whole step, three for anything more.

    One-and-a-half steps and more are never bent with the first finger alone: they take three fingers where there is
    room, two at least. `room` is the number of frets from the nut (or capo) to the bent one, a finger each. Common
    practice, no source.
    """
    wanted = max(min(semitones, 3), {"light": 1, "firm": 2}.get(grade, 3))
    least = 2 if semitones >= BIG_BEND_SEMITONES else 1
    fingers = max(min(wanted, room), least)
    return Support(fingers, fingers - 1, cramped=room < wanted)


_FINGERS = {1: "index", 2: "middle", 3: "ring"}
