"""Each note of the octave by one name, for tests that take a key to a note, or a note to its key."""

from __future__ import annotations

from pedal.theory.scale import Key, parse_key

NAMES = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]


def key_on(midi: int) -> Key:
    """The minor pentatonic key of a tonic, any octave of it."""
    return parse_key(f"{NAMES[midi % 12]} minor pentatonic")


def key_of_third(midi: int) -> Key:
    """The minor pentatonic key of which a note is the minor third: there a false curl is likeliest."""
    return key_on(midi - 3)
