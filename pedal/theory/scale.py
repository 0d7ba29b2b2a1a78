"""Keys and scales: which notes belong, what each is called, where each bends to."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.theory.spelling import LETTERS, NoteNameError, PitchClass, parse_pitch_class, pitch_name

SCALES: dict[str, tuple[str, ...]] = {
    "minor pentatonic": ("1", "b3", "4", "5", "b7"),
    "major pentatonic": ("1", "2", "3", "5", "6"),
    "blues": ("1", "b3", "4", "b5", "5", "b7"),
    "minor": ("1", "2", "b3", "4", "5", "b6", "b7"),
    "major": ("1", "2", "3", "4", "5", "6", "7"),
    "mixolydian": ("1", "2", "3", "4", "5", "6", "b7"),
    "dorian": ("1", "2", "b3", "4", "5", "6", "b7"),
}
_NATURAL = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}
_CHROMATIC = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")
_LETTER_ORDER = "CDEFGAB"
CURL_SEMITONES = (3, 10)
"""A curl belongs to the minor third and the flat seventh of the key."""


class KeyNameError(ValueError):
    """A word that is no key."""


def semitones_of(degree: str) -> int:
    """Semitones above the tonic of a degree word such as "b3" (0 to 11)."""
    return (_NATURAL[int(degree.lstrip("b#"))] - degree.count("b") + degree.count("#")) % 12


@dataclass(frozen=True, slots=True)
class Key:
    """A tonic and a scale. `degrees` are words such as "b3", in rising order, starting with "1"."""

    tonic: PitchClass
    scale: str
    degrees: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.tonic} {self.scale}"

    def steps_above_tonic(self, midi: int) -> int:
        """Semitones of a note above the tonic below it, 0 to 11."""
        return (midi - self.tonic.semitone) % 12

    def contains(self, midi: int) -> bool:
        """Whether a note belongs to the scale."""
        return self.steps_above_tonic(midi) in {semitones_of(d) for d in self.degrees}

    def degree_of(self, midi: int) -> str:
        """Degree word of any note: the scale's own word, else the usual flat one ("b2", "b5")."""
        above = self.steps_above_tonic(midi)
        return next((d for d in self.degrees if semitones_of(d) == above), _CHROMATIC[above])

    def next_above(self, midi: int) -> int:
        """The next scale note above a note: the target of a scale bend."""
        return next(m for m in range(midi + 1, midi + 13) if self.contains(m))

    def spell(self, midi: int) -> str:
        """Scientific pitch in the key's own spelling: the b3 of G is Bb, never A#."""
        degree = self.degree_of(midi)
        steps = int(degree.lstrip("b#")) - 1
        letter = _LETTER_ORDER[(_LETTER_ORDER.index(self.tonic.letter) + steps) % 7]
        alteration = (midi - LETTERS[letter] + 6) % 12 - 6
        return pitch_name(midi, PitchClass(letter, alteration))


def parse_key(words: str) -> Key:
    """`Key` of words such as "Bb minor pentatonic" (a bare tonic means minor pentatonic); raises `KeyNameError`."""
    tonic, _, scale = words.strip().partition(" ")
    scale = " ".join(scale.lower().split()) or "minor pentatonic"
    if scale == "natural minor":
        scale = "minor"
    try:
        spelled = parse_pitch_class(tonic)
    except NoteNameError as fault:
        raise KeyNameError(f"{words!r} is no key: {fault}") from fault
    if scale not in SCALES:
        raise KeyNameError(f"{scale!r} is no scale known here: choose {', '.join(SCALES)}")
    return Key(spelled, scale, SCALES[scale])
