"""Kinds of value that only this trade has: a key, a tuning."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.settings.document import Listing, Node
from pedal.settings.kinds import Unfit, nearest, scalar_text
from pedal.theory.neck import TUNINGS, Tuning, TuningError, parse_tuning
from pedal.theory.scale import SCALES, Key, KeyNameError, parse_key

_NOTES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@dataclass(frozen=True, slots=True)
class KeyWords:
    """A key, such as "Bb minor pentatonic"."""

    @property
    def expected(self) -> str:
        return f"a tonic and a scale such as 'F# blues' (scales: {', '.join(SCALES)})"

    def read(self, node: Node) -> Key:
        """The key; a bare tonic means minor pentatonic."""
        words = scalar_text(node, "text")
        try:
            return parse_key(words)
        except KeyNameError as fault:
            raise Unfit(repr(words[:40]), _nearest_key(words)) from fault

    def write(self, value: Key) -> str:
        return str(value)


def _nearest_key(words: str) -> str:
    tonic, _, scale = words.strip().partition(" ")
    try:
        return str(parse_key(f"{tonic} {nearest(scale, list(SCALES))}"))
    except KeyNameError:
        return ""


@dataclass(frozen=True, slots=True)
class TuningWords:
    """Open strings: the name of a tuning, or their notes from the lowest string up, as words or as a list."""

    @property
    def expected(self) -> str:
        return f"the open strings from the lowest up, such as E2 A2 D3 G3 B3 E4, or one of {', '.join(TUNINGS)}"

    def read(self, node: Node) -> Tuning:
        if isinstance(node, Listing):
            words = " ".join(scalar_text(item, "text") for item in node.items)
        else:
            words = scalar_text(node, "text")
        try:
            return parse_tuning(words)
        except TuningError as fault:
            raise Unfit(repr(words[:60]), nearest(words, list(TUNINGS))) from fault

    def write(self, value: Tuning) -> str:
        return " ".join(f"{_NOTES[midi % 12]}{midi // 12 - 1}" for midi in reversed(value.open_midi))
