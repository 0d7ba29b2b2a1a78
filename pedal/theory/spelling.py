"""Note names: letter, accidental, octave. `Bb3` for programs, `B♭3` for eyes."""

from __future__ import annotations

import re

from pedal.values import frozen

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ACCIDENTALS = {"#": 1, "♯": 1, "b": -1, "♭": -1, "𝄪": 2, "𝄫": -2, "♮": 0}
_NAME = re.compile(r"^([A-Ga-g])([#♯b♭𝄪𝄫♮]*)(-?[0-9]{1,2})?$")
_SIGNS_OF_A_NAME = re.compile(r"(?:(?<=\b[A-G])|(?<!\w))[#b]+(?![A-Za-z])")
"""Accidentals after a letter, or before a degree's number; never the b of a word."""
MOST_ACCIDENTALS = 2
LOWEST_MIDI, HIGHEST_MIDI = 0, 127
"""MIDI 1.0: C-1 to G9."""


class NoteNameError(ValueError):
    """A word that is no note name."""


@frozen
class PitchClass:
    """A spelled note without octave: `letter` A to G, `alteration` in semitones (-1 is flat)."""

    letter: str
    alteration: int

    @property
    def semitone(self) -> int:
        """Semitones above C, 0 to 11."""
        return (LETTERS[self.letter] + self.alteration) % 12

    def __str__(self) -> str:
        return self.letter + ("#" * self.alteration if self.alteration > 0 else "b" * -self.alteration)


def parse_pitch_class(word: str) -> PitchClass:
    """`PitchClass` of a word such as "Bb", "B♭", "F#", "f♯" or "Ebb"; raises `NoteNameError`.

    >>> str(parse_pitch_class("b♭")), str(parse_pitch_class("F𝄪"))
    ('Bb', 'F##')
    """
    match = _NAME.match(word.strip())
    if not match or match[3] is not None:
        raise NoteNameError(f"{word!r} is no note name: give a letter A to G with # or b, such as Bb or F#")
    return PitchClass(match[1].upper(), _alteration(word, match[2]))


def parse_pitch(word: str) -> int:
    """MIDI number of a scientific pitch such as "E2" or "Bb3"; raises `NoteNameError`.

    >>> parse_pitch("E2"), parse_pitch("C4"), parse_pitch("Cb4")
    (40, 60, 59)
    """
    match = _NAME.match(word.strip())
    if not match or match[3] is None:
        raise NoteNameError(f"{word!r} is no pitch: give a letter, # or b, and an octave, such as E2 or Bb3")
    midi = LETTERS[match[1].upper()] + _alteration(word, match[2]) + 12 * (int(match[3]) + 1)
    if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
        raise NoteNameError(f"{word!r} is out of range: give a pitch from C-1 to G9")
    return midi


def pitch_name(midi: int, spelled: PitchClass) -> str:
    """Scientific pitch of a MIDI number under a given spelling; the octave number turns at the letter C.

    >>> pitch_name(59, PitchClass("C", -1)), pitch_name(58, PitchClass("B", -1))
    ('Cb4', 'Bb3')
    """
    return f"{spelled}{(midi - spelled.alteration) // 12 - 1}"


def for_eyes(name: str) -> str:
    """The name with ♭ and ♯ drawn: "Bb3" -> "B♭3", "b7" -> "♭7", "#4" -> "♯4".

    Words around a name keep their letters: "Bb blues" -> "B♭ blues".
    """
    return _SIGNS_OF_A_NAME.sub(lambda signs: signs[0].replace("b", "♭").replace("#", "♯"), name)


def _alteration(word: str, accidentals: str) -> int:
    """Semitones of a run of accidentals that point one way."""
    steps = [_ACCIDENTALS[sign] for sign in accidentals]
    if min(steps, default=0) < 0 < max(steps, default=0) or abs(sum(steps)) > MOST_ACCIDENTALS:
        raise NoteNameError(f"{word!r} is no note name: give at most two sharps or two flats, such as F## or Bbb")
    return sum(steps)
