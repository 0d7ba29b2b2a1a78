"""Keys and scales: which notes belong, what each is called, where each bends to."""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import lru_cache

from pedal.theory.degree import CHROMATIC, DegreeError, letter_steps_of, parse_degrees, semitones_of
from pedal.theory.spelling import LETTERS, MOST_ACCIDENTALS, NoteNameError, PitchClass, parse_pitch_class, pitch_name
from pedal.values import frozen

__all__ = ["CURL_SEMITONES", "SCALES", "Key", "KeyNameError", "parse_key", "semitones_of"]

SCALES: dict[str, tuple[str, ...]] = {
    "minor pentatonic": ("1", "b3", "4", "5", "b7"),
    "major pentatonic": ("1", "2", "3", "5", "6"),
    "blues": ("1", "b3", "4", "b5", "5", "b7"),
    "minor": ("1", "2", "b3", "4", "5", "b6", "b7"),
    "major": ("1", "2", "3", "4", "5", "6", "7"),
    "mixolydian": ("1", "2", "3", "4", "5", "6", "b7"),
    "dorian": ("1", "2", "b3", "4", "5", "6", "b7"),
}
"""Degrees of the scales that have a name here; `parse_key` also takes an own list of degrees."""
_OTHER_NAMES = {
    "natural minor": "minor",
    "aeolian": "minor",
    "ionian": "major",
    "minor blues": "blues",
    "pentatonic": "minor pentatonic",
}
_WRITTEN_SHORT = {"m": "minor", "min": "minor", "mi": "minor", "maj": "major", "pent": "pentatonic"}
_CHORD = re.compile(r"^([A-Ga-g][#♯b♭𝄪𝄫♮]*)(m|min|mi|minor|maj|major)$")
"""A tonic as chords are written: "Am", "C#m", "Bbmin"."""
_LETTER_ORDER = "CDEFGAB"
_SPOKEN = {"flat": "b", "sharp": "#"}
_OWN_SCALE = re.compile(r"^\[(.*)\]$")
_SHARP_MINORS, _SHARP_MAJORS = (1, 6, 8), (6,)
"""Semitones above C of the tonics on black keys that are written with a sharp; the others take a flat."""
CURL_SEMITONES = (3, 10)
"""A curl belongs to the minor third and the flat seventh of the key."""


class KeyNameError(ValueError):
    """A word that is no key."""


@frozen
class Key:
    """A tonic and a scale. `degrees` are words such as "b3", in rising order, starting with "1"."""

    tonic: PitchClass
    scale: str
    degrees: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.tonic} {self.scale}"

    def __hash__(self) -> int:
        """Of what tells keys apart; each frame looks names up under its key."""
        return hash((self.tonic.letter, self.scale))

    def steps_above_tonic(self, midi: int) -> int:
        """Semitones of a note above the tonic below it, 0 to 11."""
        return (midi - self.tonic.semitone) % 12

    def contains(self, midi: int) -> bool:
        """Whether a note belongs to the scale."""
        above = self.steps_above_tonic(midi)
        return above in map(semitones_of, self.degrees)

    def degree_of(self, midi: int) -> str:
        """Degree word of any note: the scale's own word, else the usual flat one ("b2", "b5")."""
        above = self.steps_above_tonic(midi)
        return next((d for d in self.degrees if semitones_of(d) == above), CHROMATIC[above])

    def next_above(self, midi: int) -> int:
        """The next scale note above a note: the target of a scale bend."""
        return _next_above(self, midi)

    def spell(self, midi: int) -> str:
        """Scientific pitch in the key's own spelling: the b3 of G is Bb, never A#.

        A scale note keeps its letter even where that costs a double accidental (the b3 of Gb is Bbb: no other name
        belongs to Gb minor), but none has three (the bb3 of Cb is Db); a note outside the scale that a bare letter can
        name takes the bare letter (E, not Fb).
        """
        return _spell(self, midi)


@lru_cache(256)
def _next_above(key: Key, midi: int) -> int:
    """Asked for each frame of a moving string, as the spelling is."""
    return next(m for m in range(midi + 1, midi + 13) if key.contains(m))


@lru_cache(256)
def _spell(key: Key, midi: int) -> str:
    letter = _LETTER_ORDER[(_LETTER_ORDER.index(key.tonic.letter) + letter_steps_of(key.degree_of(midi))) % 7]
    spelled = PitchClass(letter, (midi - LETTERS[letter] + 6) % 12 - 6)
    plain = plain_name(midi, flat=spelled.alteration < 0)
    if abs(spelled.alteration) > MOST_ACCIDENTALS or not (plain.alteration or key.contains(midi)):
        spelled = plain
    return pitch_name(midi, spelled)


def parse_key(words: str) -> Key:
    """`Key` of words such as "Bb minor pentatonic", "F sharp dorian", "B♭", "Am", "C#m blues" or "G [1 b3 4 5 b7]".

    A bare tonic means minor pentatonic; an m behind it means minor, as in the names of chords. An own scale stands in
    square brackets: degrees from 1 up in rising order, with spaces or commas between, each a number from 1 to 7 with b
    or # before it.

    Raises
    ------
    KeyNameError
        If the tonic is no note with at most one accidental, or the scale is not known and no list of degrees.

    Examples
    --------
    >>> key = parse_key("B flat minor pentatonic")
    >>> str(key), key.spell(61), parse_key("c# [1 2 b3 5]").degrees
    ('Bb minor pentatonic', 'Db4', ('1', '2', 'b3', '5'))
    """
    tonic, _, scale = words.strip().partition(" ")
    spoken, _, rest = scale.strip().partition(" ")
    if spoken.lower() in _SPOKEN:
        tonic, scale = tonic + _SPOKEN[spoken.lower()], rest
    if chord := _CHORD.match(tonic):
        tonic, scale = chord[1], f"{chord[2]} {scale}"
    try:
        spelled = parse_pitch_class(tonic)
    except NoteNameError as fault:
        raise KeyNameError(f"{words!r} is no key: {fault}") from fault
    if abs(spelled.alteration) > 1:
        plain = plain_name(spelled.semitone, flat=spelled.alteration < 0)
        raise KeyNameError(f"{words!r} is no key: a tonic has at most one accidental, say {plain} for {spelled}")
    written = " ".join(_WRITTEN_SHORT.get(word, word) for word in scale.lower().split())
    name, degrees = _parse_scale(written, words)
    return Key(spelled, name, degrees)


def _parse_scale(scale: str, words: str) -> tuple[str, tuple[str, ...]]:
    """Name and degrees of a scale; an own list is named by its degrees in brackets, so that it can be parsed again."""
    own = _OWN_SCALE.match(scale)
    if own:
        try:
            degrees = parse_degrees(own[1])
        except DegreeError as fault:
            raise KeyNameError(f"{words!r} is no key: {fault}") from fault
        return f"[{' '.join(degrees)}]", degrees
    name = _OTHER_NAMES.get(scale, scale) or "minor pentatonic"
    if name.removeprefix("minor ") in SCALES and "b3" in SCALES[name.removeprefix("minor ")]:
        name = name.removeprefix("minor ")  # "Am dorian": its third says so anyway
    if name not in SCALES:
        near = get_close_matches(name, [*SCALES, *_OTHER_NAMES], n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        raise KeyNameError(
            f"{scale!r} is no scale known here: {hint}choose {', '.join(SCALES)}, or give degrees as in [1 b3 4 5 b7]"
        )
    return name, SCALES[name]


def usual_tonic(semitone: int, degrees: tuple[str, ...]) -> PitchClass:
    """The tonic as players say it: minor keys are C#, F# and G#, major ones Db, F# and Ab; Eb and Bb are both.

    Each has the key signature of fewer accidentals, and where two are alike (F# and Gb major, Eb and D# minor) the one
    that guitarists say: common practice, no source.

    >>> str(usual_tonic(1, ("1", "b3", "5"))), str(usual_tonic(1, ("1", "3", "5"))), str(usual_tonic(10, ("1", "b3")))
    ('C#', 'Db', 'Bb')
    """
    return plain_name(semitone, flat=semitone % 12 not in (_SHARP_MINORS if "b3" in degrees else _SHARP_MAJORS))


def plain_name(midi: int, *, flat: bool) -> PitchClass:
    """The spelling with at most one accidental, flat or sharp."""
    alterations = (0, -1) if flat else (0, 1)
    return next(
        PitchClass(letter, alteration)
        for alteration in alterations
        for letter in _LETTER_ORDER
        if (LETTERS[letter] + alteration - midi) % 12 == 0
    )
