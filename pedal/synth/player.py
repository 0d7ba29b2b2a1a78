"""A player who plays what is asked, with a hand of their own: some bends come out flat, each a little otherwise.

Invented for the demo and for figures of what a practice does; no measure of any real hand.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from pedal.synth.gestures import Hand
from pedal.synth.score import Stroke
from pedal.theory.neck import PLAIN_NECK, Neck
from pedal.theory.scale import Key, parse_key

_CHROMATIC = parse_key("C [1 b2 2 b3 3 4 b5 5 b6 6 b7 7]")
_MOST_BIAS_CENTS, _SPREAD_CENTS = 38.0, 7.0
_CURL_CENTS, _CURL_SPREAD_CENTS = 34.0, 9.0
_RELEASES = 0.15


@dataclass
class MadeUpPlayer:
    """`.stroke(...)` plays one thing. Each spot has a bias of its own, which shrinks by `learns` with every try."""

    key: Key
    neck: Neck = PLAIN_NECK
    seed: int = 17
    learns: float = 0.06
    _biases: dict[tuple[str, int, int], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._rng = np.random.default_rng(self.seed)

    def error_cents(self, part: str, string: int, fret: int) -> float:
        """How far off the next try at a spot comes out."""
        spot = (part, string, fret)
        if spot not in self._biases:
            self._biases[spot] = float(self._rng.uniform(-1.0, 0.35)) * _MOST_BIAS_CENTS
        bias = self._biases[spot]
        self._biases[spot] = bias * (1.0 - self.learns)
        return bias + _SPREAD_CENTS * float(self._rng.standard_normal())

    def curl_cents(self) -> tuple[float, bool]:
        """How high the next curl goes, and whether it is released before it is cut off."""
        height = _CURL_CENTS + _CURL_SPREAD_CENTS * float(self._rng.standard_normal())
        return max(10.0, height), bool(self._rng.random() < _RELEASES)

    def stroke(self, at_s: float, part: str, string: int, fret: int) -> Stroke:
        """The stroke for a part of a Round: "plain", "between", "curl", "half", "bend" or "prebend".

        at_s : when it is plucked; `string` 1 is the highest, `fret` counts from the nut.
        """
        hand = Hand(self.key, self.neck)
        match part:
            case "curl":
                cents, released = self.curl_cents()
                return (hand.curl_released if released else hand.curl)(at_s, string, fret, cents)
            case "half":
                hand = Hand(_CHROMATIC, self.neck)
                return hand.bend(at_s, string, fret, self.error_cents(part, string, fret))
            case "bend":
                return hand.bend(at_s, string, fret, self.error_cents(part, string, fret))
            case "prebend":
                return hand.prebend(at_s, string, fret, self.error_cents(part, string, fret))
            case _:
                return hand.steady(at_s, string, fret)
