"""Hertz, cents and note names against handbook tables, MIDI numbers, just ratios and two music libraries."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.pitch import Pitch

from pedal.theory.cents import cents_between, hz_of, midi_of
from pedal.theory.spelling import (
    LETTERS,
    NoteNameError,
    PitchClass,
    for_eyes,
    parse_pitch,
    parse_pitch_class,
    pitch_name,
)

hertz = st.floats(1, 100_000)
midis = st.floats(0, 127)


def test_tempered_notes_are_those_of_the_handbook(outside: dict[str, Any]) -> None:
    for name, hz in outside["note_hz"]["values"].items():
        places = 3 if hz < 100 else 2
        assert abs(hz_of(parse_pitch(name)) - hz) <= 0.5001 * 10**-places, name


def test_open_strings_are_those_of_the_table(outside: dict[str, Any]) -> None:
    for name, hz in outside["open_string_hz"]["values"].items():
        places = len(str(hz).partition(".")[2])
        assert round(hz_of(parse_pitch(name)), places) == hz, name


def test_midi_numbers_sound_as_listed(outside: dict[str, Any]) -> None:
    for number, hz in enumerate(outside["midi_hz"]["exact"]):
        # The list cuts some terms where it should round: one unit of the last place is allowed.
        assert abs(hz_of(number) - hz) <= 1.001e-4, number
    for number, hz in enumerate(outside["midi_hz"]["whole"]):
        assert round(hz_of(number)) == hz, number


def test_the_highest_midi_note_is_not_the_misprint_of_the_tuning_specification() -> None:
    assert round(hz_of(127), 3) == 12543.854


@pytest.mark.parametrize(
    ("ratio", "cents"),
    [
        ("6/5", 315.64),
        ("11/9", 347.41),
        ("5/4", 386.31),
        ("7/4", 968.83),
        ("9/5", 1017.60),
        ("3/2", 701.96),
        ("4/3", 498.04),
        ("7/6", 266.87),
        ("16/13", 359.47),
        ("2/1", 1200.00),
    ],
)
def test_just_ratios_have_their_cents(ratio: str, cents: float) -> None:
    """Standard values of interval tables (Ellis's cents; computed independently to two places)."""
    assert cents_between(1.0, float(Fraction(ratio))) == pytest.approx(cents, abs=0.005)


@given(hertz, hertz, hertz)
def test_cents_add_up_and_turn_round(a: float, b: float, c: float) -> None:
    assert cents_between(a, b) == pytest.approx(-cents_between(b, a), abs=1e-8)
    assert cents_between(a, b) + cents_between(b, c) == pytest.approx(cents_between(a, c), abs=1e-7)


@given(midis, st.floats(400, 480))
def test_midi_and_hertz_are_inverse(midi: float, a4_hz: float) -> None:
    assert midi_of(hz_of(midi, a4_hz=a4_hz), a4_hz=a4_hz) == pytest.approx(midi, abs=1e-9)


@given(midis, st.floats(-300, 300))
def test_a_hundredth_of_a_midi_number_is_a_cent(midi: float, cents: float) -> None:
    assert cents_between(hz_of(midi), hz_of(midi + cents / 100)) == pytest.approx(cents, abs=1e-8)


letters, accidentals, octaves = (
    st.sampled_from("CDEFGAB"),
    st.sampled_from(["", "#", "b", "##", "bb"]),
    st.integers(0, 8),
)


@given(letters, accidentals, octaves)
def test_names_mean_what_music21_means(letter: str, accidental: str, octave: int) -> None:
    theirs = Pitch(letter + accidental.replace("b", "-") + str(octave))
    assert parse_pitch(f"{letter}{accidental}{octave}") == theirs.midi
    assert hz_of(theirs.midi) == pytest.approx(theirs.frequency, rel=1e-12)


@given(letters, accidentals, octaves)
def test_a_name_survives_being_read_and_written(letter: str, accidental: str, octave: int) -> None:
    name = f"{letter}{accidental}{octave}"
    assert pitch_name(parse_pitch(name), parse_pitch_class(letter + accidental)) == name


@pytest.mark.parametrize(
    ("word", "letter", "alteration"),
    [
        ("Bb", "B", -1),
        ("bb", "B", -1),
        ("b", "B", 0),
        ("B♭", "B", -1),
        ("f♯", "F", 1),
        ("F𝄪", "F", 2),
        ("E𝄫", "E", -2),
        ("A♮", "A", 0),
        (" C# ", "C", 1),
    ],
)
def test_accidentals_in_any_writing(word: str, letter: str, alteration: int) -> None:
    assert parse_pitch_class(word) == PitchClass(letter, alteration)


@pytest.mark.parametrize(
    ("word", "sentence"),
    [
        ("H", "'H' is no note name"),
        ("", "'' is no note name"),
        ("Bx", "'Bx' is no note name"),
        ("Bb3", "no note name"),
        ("B#b", "two sharps or two flats"),
        ("Bbbb", "two sharps or two flats"),
        ("𝄫", "no note name"),
    ],
)
def test_no_note_name(word: str, sentence: str) -> None:
    with pytest.raises(NoteNameError, match=sentence):
        parse_pitch_class(word)


@pytest.mark.parametrize(
    ("word", "sentence"),
    [
        ("E", "is no pitch"),
        ("2E", "is no pitch"),
        ("E22", "from C-1 to G9"),
        ("G#9", "from C-1 to G9"),
        ("Cb-1", "from C-1"),
    ],
)
def test_no_pitch(word: str, sentence: str) -> None:
    with pytest.raises(NoteNameError, match=sentence):
        parse_pitch(word)


def test_the_octave_number_turns_at_the_letter_c() -> None:
    assert (parse_pitch("B#3"), parse_pitch("C4"), parse_pitch("Cb4"), parse_pitch("B3")) == (60, 60, 59, 59)
    assert math.isclose(hz_of(parse_pitch("B#3")), hz_of(parse_pitch("C4")))


@pytest.mark.parametrize(
    ("name", "drawn"),
    [
        ("Bb3", "B♭3"), ("b7", "♭7"), ("F##4", "F♯♯4"), ("#4", "♯4"), ("B3", "B3"), ("b7→1", "♭7→1"),
        ("(6)Eb2", "(6)E♭2"), ("Bb blues", "B♭ blues"), ("blues", "blues"), ("0 bends", "0 bends"), ("usb", "usb"),
    ],
)  # fmt: skip
def test_names_for_eyes(name: str, drawn: str) -> None:
    assert for_eyes(name) == drawn


def test_the_letters_are_a_major_scale() -> None:
    assert [LETTERS[letter] for letter in "CDEFGAB"] == [0, 2, 4, 5, 7, 9, 11]
