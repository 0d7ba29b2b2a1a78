"""Keys: which notes, called what, bent to where; against music21 and mingus."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from mingus.core import scales as mingus_scales
from music21 import scale as music21_scale

from pedal.theory.degree import DegreeError, parse_degrees, semitones_of
from pedal.theory.scale import SCALES, KeyNameError, parse_key, usual_tonic
from pedal.theory.spelling import parse_pitch

TONICS = [letter + accidental for letter in "CDEFGAB" for accidental in ("", "b", "#")]
WRITTEN = [f"{accidental}{number}" for number in range(1, 8) for accidental in ("", "b", "bb", "#", "##")]
OWN_DEGREES = [degree for degree in WRITTEN if semitones_of(degree) > 0]
"""Each that may follow the 1 of an own scale."""
keys = st.builds(
    lambda tonic, scale: parse_key(f"{tonic} {scale}"), st.sampled_from(TONICS), st.sampled_from(list(SCALES))
)
MUSIC21 = {
    "major": music21_scale.MajorScale,
    "minor": music21_scale.MinorScale,
    "mixolydian": music21_scale.MixolydianScale,
    "dorian": music21_scale.DorianScale,
}
PENTATONIC_OF = {"minor pentatonic": ("minor", (0, 2, 3, 4, 6)), "major pentatonic": ("major", (0, 1, 2, 4, 5))}
"""A pentatonic scale is its seven-note scale without two degrees (common practice)."""


def names(words: str) -> list[str]:
    """The notes of a key from its tonic up, without octaves."""
    key = parse_key(words)
    return [key.spell(60 + key.tonic.semitone + semitones_of(degree)).rstrip("0123456789") for degree in key.degrees]


@pytest.mark.parametrize("scale", MUSIC21)
@pytest.mark.parametrize("tonic", TONICS)
def test_seven_notes_are_spelled_as_music21_spells_them(tonic: str, scale: str) -> None:
    theirs = MUSIC21[scale](tonic.replace("b", "-")).getPitches(minPitch=None, maxPitch=None)[:7]
    assert names(f"{tonic} {scale}") == [pitch.name.replace("-", "b") for pitch in theirs]


@pytest.mark.parametrize("scale", PENTATONIC_OF)
@pytest.mark.parametrize("tonic", TONICS)
def test_five_notes_are_those_of_the_full_scale(tonic: str, scale: str) -> None:
    full, places = PENTATONIC_OF[scale]
    theirs = MUSIC21[full](tonic.replace("b", "-")).getPitches()[:7]
    assert names(f"{tonic} {scale}") == [theirs[place].name.replace("-", "b") for place in places]


@pytest.mark.parametrize("tonic", ["G", "Bb", "F#", "C#", "Eb", "B"])
def test_natural_minor_is_spelled_as_mingus_spells_it(tonic: str) -> None:
    assert names(f"{tonic} natural minor") == mingus_scales.NaturalMinor(tonic).ascending()[:7]


@pytest.mark.parametrize(
    ("words", "notes"),
    [
        ("G minor pentatonic", "G Bb C D F"),
        ("B minor pentatonic", "B D E F# A"),
        ("C# minor pentatonic", "C# E F# G# B"),
        ("Gb minor pentatonic", "Gb Bbb Cb Db Fb"),
        ("A blues", "A C D Eb E G"),
        ("G# major", "G# A# B# C# D# E# F##"),
    ],
)
def test_spelling_by_hand(words: str, notes: str) -> None:
    assert names(words) == notes.split()


def test_the_flat_third_of_g_is_never_a_sharp() -> None:
    key = parse_key("G minor pentatonic")
    assert [key.spell(midi) for midi in (58, 65, 70)] == ["Bb3", "F4", "Bb4"]


@pytest.mark.parametrize(
    ("words", "midi", "name"), [("Bb", 64, "E4"), ("Bb", 59, "B3"), ("G", 61, "Db4"), ("Gb minor", 67, "G4")]
)
def test_a_note_outside_the_scale_takes_a_bare_letter_where_there_is_one(words: str, midi: int, name: str) -> None:
    assert parse_key(words).spell(midi) == name


@given(keys, st.integers(20, 100))
def test_a_name_is_always_the_note_and_never_triple(key, midi: int) -> None:
    name = key.spell(midi)
    assert parse_pitch(name) == midi
    assert max(name.count("b"), name.count("#")) <= 2


@given(keys, st.integers(20, 100))
def test_the_next_note_above_lies_in_the_scale_and_nothing_between(key, midi: int) -> None:
    above = key.next_above(midi)
    assert key.contains(above)
    assert not any(key.contains(between) for between in range(midi + 1, above))


@given(keys, st.integers(20, 100))
def test_degrees_and_membership_repeat_at_the_octave(key, midi: int) -> None:
    assert key.degree_of(midi) == key.degree_of(midi + 12)
    assert key.contains(midi) == (key.degree_of(midi) in key.degrees)
    assert semitones_of(key.degree_of(midi)) == key.steps_above_tonic(midi)


@given(keys)
def test_a_key_survives_being_written_and_read(key) -> None:
    assert parse_key(str(key)) == key


@pytest.mark.parametrize("words", ["B flat minor pentatonic", "B♭", "bb minor  pentatonic", " Bb Minor Pentatonic "])
def test_one_key_in_many_writings(words: str) -> None:
    assert str(parse_key(words)) == "Bb minor pentatonic"


@pytest.mark.parametrize(
    ("words", "same"),
    [
        ("A natural minor", "A minor"),
        ("A aeolian", "A minor"),
        ("F sharp ionian", "F# major"),
        ("E minor blues", "E blues"),
    ],
)
def test_other_names_of_a_scale(words: str, same: str) -> None:
    assert parse_key(words) == parse_key(same)


@pytest.mark.parametrize("words", ["G [1 b3 4 5 b7]", "G [1, ♭3, 4, 5, ♭7]", "g [1 B3 4 5 B7]"])
def test_an_own_scale_is_a_list_of_degrees(words: str) -> None:
    key = parse_key(words)
    assert (str(key), key.degrees) == ("G [1 b3 4 5 b7]", ("1", "b3", "4", "5", "b7"))
    assert parse_key(str(key)) == key


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("H minor", "'H minor' is no key: 'H' is no note name"),
        ("", "'' is no key"),
        ("Bbb minor", "say A for Bbb"),
        ("G minorr pentatonic", "did you mean minor pentatonic"),
        ("G xyz", "choose minor pentatonic, major pentatonic"),
        ("G [1 b3 3 2]", "degree 2 does not lie above 3"),
        ("G [2 3]", "begins with degree 1, not 2"),
        ("G []", "too small"),
        ("G [1 b3 x]", "'x' is no degree"),
        ("G [1 b3 8]", "'8' is no degree"),
        ("G [1 1]", "does not lie above"),
    ],
)
def test_no_key(words: str, sentence: str) -> None:
    with pytest.raises(KeyNameError, match=sentence.replace("[", r"\[")):
        parse_key(words)


@pytest.mark.parametrize(("degree", "semitones"), [("1", 0), ("b2", 1), ("#4", 6), ("b5", 6), ("bb7", 9), ("7", 11)])
def test_degrees_in_semitones(degree: str, semitones: int) -> None:
    assert semitones_of(degree) == semitones


def test_degrees_of_unlike_accidentals_are_refused() -> None:
    with pytest.raises(DegreeError, match="'b#3' is no degree"):
        parse_degrees("1 b#3")


@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("Am", "A minor"), ("am", "A minor"), ("C#m", "C# minor"), ("Bbm", "Bb minor"), ("bm", "B minor"),
        ("bbm", "Bb minor"), ("E♭m", "Eb minor"), ("F#min", "F# minor"), ("G min", "G minor"), ("D m", "D minor"),
        ("C sharp m", "C# minor"), ("Am pentatonic", "A minor pentatonic"), ("Am pent", "A minor pentatonic"),
        ("Cmaj", "C major"), ("C maj pent", "C major pentatonic"), ("E blues", "E blues"), ("Em blues", "E blues"),
        ("Dm dorian", "D dorian"), ("E pentatonic", "E minor pentatonic"), ("Amajor", "A major"),
    ],
)  # fmt: skip
def test_keys_are_understood_as_players_write_them(words: str, key: str):
    assert str(parse_key(words)) == key


@pytest.mark.parametrize("words", ["Am7", "Ammm", "Hm", "C#mixolydian", "Am major", "A minor mixolydian", "m", "A-"])
def test_what_is_no_key_stays_none(words: str):
    with pytest.raises(KeyNameError):
        parse_key(words)


def test_minor_keys_are_spelled_as_players_say_them():
    """Key signatures of six accidentals at the most, and never Fb or Cb where a sharp key says it plainly."""
    minor, major = parse_key("A minor").degrees, parse_key("A major").degrees
    assert " ".join(str(usual_tonic(n, minor)) for n in range(12)) == "C C# D Eb E F F# G G# A Bb B"
    assert " ".join(str(usual_tonic(n, major)) for n in range(12)) == "C Db D Eb E F F# G Ab A Bb B"
    sharp = parse_key("C# minor pentatonic")
    assert [sharp.spell(midi) for midi in (61, 64, 66, 68, 71)] == ["C#4", "E4", "F#4", "G#4", "B4"]


@pytest.mark.parametrize("degree", OWN_DEGREES)
def test_every_name_of_an_own_scale_can_be_read_back(degree: str) -> None:
    """Under any tonic, as the menu may choose it: a third accidental is none that anybody writes."""
    for tonic in TONICS:
        key = parse_key(f"{tonic} [1 {degree}]")
        assert [parse_pitch(key.spell(midi)) for midi in range(48, 72)] == list(range(48, 72))


@pytest.mark.parametrize(
    ("key", "midi", "name"),
    [
        ("Cb [1 bb3 4 5 b7]", 61, "Db4"), ("F# [1 ##2 4]", 58, "A#3"), ("Db [1 4 bb6 b7]", 56, "Ab3"),
        ("Gb minor", 57, "Bbb3"), ("G# major", 55, "F##3"),
    ],
)  # fmt: skip
def test_a_third_accidental_gives_way_to_the_plain_name_and_a_second_one_stays(key: str, midi: int, name: str) -> None:
    assert parse_key(key).spell(midi) == name
