"""A position of the key -> the rungs of its ladder: one bend each, with names and the fingers that support it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from pedal.theory.effort import Grade, Rig, weigh
from pedal.theory.neck import Bend, Position, bends
from pedal.theory.scale import Key
from pedal.verdicts.aim import Target

_WARNING: dict[Grade, str] = {"light": "", "firm": "", "heavy": ", heavy", "not_with_this_set": ", too heavy"}


class Crossing(NamedTuple):
    """A bend that was crossed off, in any key: the string and fret it is bent at, and how far."""

    string: int
    fret: int
    semitones: int


@dataclass(frozen=True, slots=True)
class Rung:
    """One bend of a position. `note` and `target` are scientific pitch in the key's spelling; force in newtons."""

    string: int
    fret: int
    rest_midi: int
    target_midi: int
    note: str
    target: str
    support: str
    force_n: float = 0.0

    @property
    def crossing(self) -> Crossing:
        """What is remembered when this bend is crossed off for good."""
        return Crossing(self.string, self.fret, self.target_midi - self.rest_midi)

    @property
    def aim(self) -> Target:
        """What the judge is told."""
        return Target(self.rest_midi, self.target_midi)


def rungs_of(key: Key, state: Position, rig: Rig | None) -> tuple[Rung, ...]:
    """The bends of a position from the lowest note up: twelve in minor pentatonic on six strings."""
    return tuple(_rung(key, bend, rig) for bend in bends(key, state))


def _rung(key: Key, bend: Bend, rig: Rig | None) -> Rung:
    weighed = weigh(rig, bend)
    support = weighed.support.short + _WARNING[weighed.grade]
    note, target = key.spell(bend.from_midi), key.spell(bend.to_midi)
    return Rung(bend.string, bend.fret, bend.from_midi, bend.to_midi, note, target, support, weighed.force_n)
