"""Where a bend is meant to go: the chord's notes before the key's, but no further than a finger bends."""

from __future__ import annotations

import pytest

from pedal.theory.scale import parse_key
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Aim

KEY = parse_key("G minor pentatonic")
THIRD_AND_SEVENTH_OF_C7 = frozenset({4, 10})


@pytest.mark.parametrize(
    ("rest", "goals", "goal"),
    [
        ("G4", frozenset(), "Bb4"),
        ("C4", frozenset(), "D4"),
        ("C4", THIRD_AND_SEVENTH_OF_C7, "E4"),  # past the D of the key
        ("Bb3", THIRD_AND_SEVENTH_OF_C7, "C4"),  # the E lies six semitones up, out of a finger's reach
        ("G3", THIRD_AND_SEVENTH_OF_C7, "Bb3"),
        ("C4", frozenset({4}), "E4"),  # four semitones: still reached
        ("B3", frozenset({4}), "C4"),  # five: not
        ("E4", frozenset({4}), "F4"),  # an octave up, not the note itself
        ("D#4", frozenset({3}), "F4"),
        ("D#4", frozenset({3, 4}), "E4"),
    ],
)
def test_a_bend_aims_at_the_chord_as_far_as_a_finger_reaches_else_at_the_key(rest, goals, goal) -> None:
    assert Aim(KEY, goals=goals).next_above(parse_pitch(rest)) == parse_pitch(goal)


@pytest.mark.parametrize(("midi", "wanted"), [(55, True), (56, False), (52, True), (64, True), (58, True)])
def test_notes_of_the_key_and_of_the_chord_are_wanted(midi, wanted) -> None:
    assert Aim(KEY, goals=THIRD_AND_SEVENTH_OF_C7).wants(midi) is wanted
