"""What the player is trying to do: key, mode, target, and the bands that call it true."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from pedal.theory.cents import A4_HZ
from pedal.theory.scale import Key
from pedal.theory.zone import BLUE_ZONE
from pedal.values import frozen

JudgeAs = Literal["watch", "curl", "ladder", "blind", "tune"]


@frozen
class Bands:
    """Bounds in cents, all adjustable; their sources stand in docs/sources.md.

    A scale bend or pre-bend within `true_cents` is true, within `near_cents` near; halved against a sounding drone.
    A curl is true from `zone_low_cents` to `zone_high_cents` above its rest note, near from `curl_least_cents` to
    `zone_near_cents`; below `curl_least_cents` it is no curl.
    """

    true_cents: float = 10.0
    near_cents: float = 25.0
    curl_least_cents: float = BLUE_ZONE.least_cents
    zone_low_cents: float = BLUE_ZONE.low_cents
    zone_high_cents: float = BLUE_ZONE.high_cents
    zone_near_cents: float = BLUE_ZONE.near_cents

    def against_drone(self) -> Bands:
        """The same with the bands of bends halved: beats against a drone are audible."""
        return replace(self, true_cents=self.true_cents / 2, near_cents=self.near_cents / 2)


@frozen
class Target:
    """One bend that is asked for: MIDI numbers of the fretted note and of where it goes."""

    rest_midi: int
    target_midi: int


@frozen
class Aim:
    """Everything the judge may know of the player's intent. `target` None: any note of the key.

    judge_as : "tune" judges as "watch" does, and a pluck voids what was learned of the guitar: its strings are turned.
    lowest_midi : lowest note of the tuned neck; nothing lower can be a rest note.
    drone : a drone sounds, so the bands of bends are halved.
    goals : pitch classes (MIDI modulo 12) that bends aim at before the key's: the third and seventh of a chord.
    """

    key: Key
    judge_as: JudgeAs = "watch"
    target: Target | None = None
    bands: Bands = Bands()
    a4_hz: float = A4_HZ
    lowest_midi: int = 40
    drone: bool = False
    goals: frozenset[int] = frozenset()

    def next_above(self, midi: int) -> int:
        """Where a bend from a note is meant to go: the next goal a finger reaches, else the next note of the key."""
        return next_goal(self.key, self.goals, midi)

    def wants(self, midi: int) -> bool:
        """Whether a bend may aim at a note."""
        return midi % 12 in self.goals or self.key.contains(midi)


def next_goal(key: Key, goals: frozenset[int], midi: int) -> int:
    """The next goal above a note, as far as a finger bends; else the next note of the key."""
    if not goals:
        return key.next_above(midi)
    reached = (m for m in range(midi + 1, midi + GOAL_SEMITONES + 1) if m % 12 in goals)
    return next(reached, key.next_above(midi))


GOAL_SEMITONES = 4
"""Two whole steps: as far as bends of lead guitar mostly go (common practice, no source)."""
