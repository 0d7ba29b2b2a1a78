"""Chords over a key: their words, their thirds and sevenths, and the forms that are played over.

The twelve bars are the common form of the blues, with or without the change to IV in the second bar (common practice,
no source); a turnaround on V closes them.
"""

from __future__ import annotations

from typing import Literal

from pedal.theory.degree import CHROMATIC
from pedal.theory.scale import Key
from pedal.values import frozen

ChordKind = Literal["root", "fifth", "octave", "minor", "major", "dominant"]
Form = Literal["one_chord", "twelve_bars", "quick_change"]
BARS: dict[Form, tuple[int, ...]] = {
    "one_chord": (0,),
    "twelve_bars": (0, 0, 0, 0, 5, 5, 0, 0, 7, 5, 0, 7),
    "quick_change": (0, 5, 0, 0, 5, 5, 0, 0, 7, 5, 0, 7),
}
"""Roots of the bars, in semitones above the tonic: 0 is I, 5 IV, 7 V."""
TONES: dict[ChordKind, tuple[int, ...]] = {
    "root": (0,),
    "fifth": (0, 7),
    "octave": (0, 12),
    "minor": (0, 3, 7),
    "major": (0, 4, 7),
    "dominant": (0, 4, 7, 10),
}
"""Semitones above the root."""
SUFFIXES: dict[ChordKind, str] = {"root": "", "fifth": "5", "octave": "", "minor": "m", "major": "", "dominant": "7"}
"""What stands after the root in a chord's name: a fifth without a third is a "5" chord, a root alone its note."""


@frozen
class Chord:
    """A chord on a note so many semitones above the tonic."""

    above_tonic: int
    kind: ChordKind

    def word(self, key: Key) -> str:
        """What players call it, in the key's spelling.

        >>> from pedal.theory.scale import parse_key
        >>> Chord(5, "minor").word(parse_key("Bb minor")), Chord(7, "dominant").word(parse_key("E blues"))
        ('Ebm', 'B7')
        """
        root = key.spell(60 + key.tonic.semitone + self.above_tonic).rstrip("0123456789-")
        return root + SUFFIXES[self.kind]

    def goals(self, key: Key) -> frozenset[int]:
        """Pitch classes (MIDI modulo 12) of its third and seventh.

        A chord without a third takes the key's, as the player would; the seventh is the flat one of a blues.
        """
        third = {"minor": 3, "major": 4, "dominant": 4}.get(self.kind)
        if third is None:
            third = 3 if "b3" in key.degrees else 4
        root = key.tonic.semitone + self.above_tonic
        return frozenset({(root + third) % 12, (root + 10) % 12})

    def degree(self, key: Key, midi: int) -> str:
        """Which degree of the chord a note is: "3", "b7"."""
        return CHROMATIC[(midi - key.tonic.semitone - self.above_tonic) % 12]
