"""Positions by rule: against the trade's shapes written down by hand, against music21, and by their properties."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from music21.scale import DorianScale, MajorScale, MinorScale, MixolydianScale

from pedal.pitch.search import LOWEST_HZ
from pedal.theory.cents import hz_of
from pedal.theory.neck import (
    LOWEST_HEARD,
    TUNINGS,
    Neck,
    NeckError,
    PositionError,
    Tuning,
    TuningError,
    bends,
    curls,
    parse_tuning,
    position,
    positions,
)
from pedal.theory.scale import SCALES, parse_key

TONICS = ["C", "C#", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]
FIVE_NOTES = ["minor pentatonic", "major pentatonic", "[1 2 4 5 b7]"]
SHARES = {1: (5, 7, 3, 2), 2: (4, 8, 3, 2), 3: (5, 7, 2, 2), 4: (5, 7, 2, 3), 5: (5, 7, 2, 3)}
"""Bends of three semitones and of two, minor thirds, flat sevenths of each position: counted by hand on the shapes."""


@st.composite
def necks(draw) -> Neck:
    """Four to eight strings that rise by a minor second to a minor sixth, a capo, 22 to 24 frets."""
    steps = draw(st.lists(st.integers(1, 8), min_size=3, max_size=7))
    lowest = draw(st.integers(23, 45))
    assume(lowest + sum(steps) <= 76)
    open_midi = [lowest + sum(steps[:count]) for count in range(len(steps) + 1)]
    return Neck(Tuning(tuple(reversed(open_midi))), draw(st.integers(0, 5)), draw(st.integers(22, 24)))


@pytest.mark.parametrize("number", range(1, 6))
def test_the_five_positions_of_g_are_the_trades(outside: dict[str, Any], number: int) -> None:
    place = position(parse_key("G minor pentatonic"), number)
    rows = [[spot.fret for spot in place.spots if spot.string == string] for string in range(6, 0, -1)]
    assert rows == outside["five_positions"]["frets"][str(number)]


@pytest.mark.parametrize("number", range(1, 6))
@pytest.mark.parametrize("tonic", TONICS)
def test_every_key_has_the_same_shapes(tonic: str, number: int) -> None:
    """Twelve bends a position, of two or three semitones (common practice, no source)."""
    key = parse_key(f"{tonic} minor pentatonic")
    place = position(key, number, Neck(frets=24))
    rises = Counter(bend.semitones for bend in bends(key, place))
    degrees = Counter(key.degree_of(spot.midi) for spot in place.spots)
    assert (rises[3], rises[2], degrees["b3"], degrees["b7"]) == SHARES[number]
    assert len(place.spots) == 12
    assert place.lowest_fret >= 1
    assert place.highest_fret - place.lowest_fret <= 4


@pytest.mark.parametrize("tonic", TONICS)
@pytest.mark.parametrize(
    ("scale", "full", "left_out"),
    [
        ("minor pentatonic", MinorScale, (2, 6)),
        ("major pentatonic", MajorScale, (4, 7)),
        ("dorian", DorianScale, ()),
        ("mixolydian", MixolydianScale, ()),
    ],
)
def test_every_position_is_a_stretch_of_music21s_scale(tonic, scale, full, left_out) -> None:
    theirs = full(tonic.replace("b", "-"))
    notes = [p for p in theirs.getPitches("E2", "E7") if theirs.getScaleDegreeFromPitch(p) not in left_out]
    key = parse_key(f"{tonic} {scale}")
    for place in positions(key, Neck(frets=24)):
        first = [p.midi for p in notes].index(place.spots[0].midi)
        stretch = notes[first : first + len(place.spots)]
        assert [p.nameWithOctave.replace("-", "b") for p in stretch] == [key.spell(spot.midi) for spot in place.spots]


@pytest.mark.parametrize(
    ("scale", "rises"),
    [("[1 5]", {5}), ("[1 b2]", {1}), ("[1 b3 4]", {2, 3}), ("[1 2 3]", {2}), ("[1 b5]", set()), ("[1 4]", {5})],
)
def test_what_no_hand_bends_is_left_out_of_the_bends(scale: str, rises: set[int]) -> None:
    """An own scale may leave a gap of a fifth or more; a bend of more than five semitones is none."""
    key = parse_key(f"G {scale}")
    for place in positions(key):
        assert {bend.semitones for bend in bends(key, place)} == rises


def test_a_position_over_open_strings_moves_up_an_octave() -> None:
    """Position 5 of G would lie at frets 0 to 3, with strings 4 and 3 open: they cannot be bent."""
    assert position(parse_key("G"), 5).lowest_fret == 12


def test_without_open_strings_it_stays_low() -> None:
    """Position 3 of C# lies at frets 1 to 5."""
    place = position(parse_key("C# minor pentatonic"), 3)
    assert (place.lowest_fret, place.highest_fret) == (1, 5)


def test_a_capo_is_the_new_nut() -> None:
    under = position(parse_key("G minor pentatonic"), 1, Neck(capo=2))
    assert under.lowest_fret == 3
    above = position(parse_key("G minor pentatonic"), 1, Neck(capo=3))
    assert above.lowest_fret == 15


@pytest.mark.parametrize(
    ("words", "number", "frets"),
    [
        ("G major", 1, (2, 5)),
        ("A dorian", 1, (4, 8)),
        ("C major", 6, (4, 8)),
    ],
)
def test_a_larger_scale_lies_under_a_hand_that_stays(words: str, number: int, frets: tuple[int, int]) -> None:
    """G major at frets 2 to 5 is the common in-position fingering (common practice, no source)."""
    place = position(parse_key(words), number)
    assert (place.lowest_fret, place.highest_fret) == frets


@given(st.sampled_from(TONICS), st.sampled_from(list(SCALES)), st.integers(1, 5), necks())
def test_a_position_is_a_run_of_the_scale_without_a_gap(tonic: str, scale: str, number: int, neck: Neck) -> None:
    key = parse_key(f"{tonic} {scale}")
    try:
        place = position(key, number, neck)
    except PositionError:
        assume(False)
    midis = [spot.midi for spot in place.spots]
    assert midis == sorted(midis)
    assert [key.next_above(midi) for midi in midis[:-1]] == midis[1:]
    assert key.degree_of(midis[0]) == key.degrees[number - 1] == place.degree


@given(st.sampled_from(TONICS), st.sampled_from(list(SCALES) + FIVE_NOTES[2:]), st.integers(1, 7), necks())
def test_every_spot_is_on_the_neck_and_can_be_bent(tonic: str, scale: str, number: int, neck: Neck) -> None:
    key = parse_key(f"{tonic} {scale}")
    assume(number <= len(key.degrees))
    try:
        place = position(key, number, neck)
    except PositionError as fault:
        assert "this neck ends at fret" in str(fault)
        return
    for spot in place.spots:
        assert neck.midi(spot.string, spot.fret) == spot.midi
        assert neck.capo < spot.fret <= neck.frets
    assert [spot.string for spot in place.spots] == sorted((spot.string for spot in place.spots), reverse=True)
    assert {spot.string for spot in place.spots} == set(range(1, neck.tuning.strings + 1))


@given(st.sampled_from(TONICS), st.sampled_from(FIVE_NOTES), st.integers(1, 5), necks())
def test_five_notes_lie_two_to_a_string_in_any_tuning(tonic: str, scale: str, number: int, neck: Neck) -> None:
    try:
        place = position(parse_key(f"{tonic} {scale}"), number, neck)
    except PositionError:
        assume(False)
    assert set(Counter(spot.string for spot in place.spots).values()) == {2}


@given(st.sampled_from(TONICS), st.sampled_from(list(SCALES)), necks())
def test_bends_go_to_the_next_note_of_the_scale_and_curls_are_thirds_and_sevenths(
    tonic: str, scale: str, neck: Neck
) -> None:
    key = parse_key(f"{tonic} {scale}")
    for place in positions(key, neck):
        for bend, spot in zip(bends(key, place), place.spots, strict=True):
            assert (bend.string, bend.fret, bend.from_midi) == (spot.string, spot.fret, spot.midi)
            assert bend.to_midi == key.next_above(bend.from_midi)
            assert 1 <= bend.semitones <= 3
        curled = curls(key, place)
        assert set(curled) <= set(place.spots)
        assert {key.degree_of(spot.midi) for spot in curled} <= {"b3", "b7"}
        assert len(curled) == sum(key.degree_of(spot.midi) in {"b3", "b7"} for spot in place.spots)


def test_a_major_key_is_not_curled() -> None:
    key = parse_key("C major pentatonic")
    assert all(not curls(key, place) for place in positions(key))


@pytest.mark.parametrize("name", TUNINGS)
def test_named_tunings_hold_every_position_of_some_key(name: str) -> None:
    neck = Neck(parse_tuning(name), frets=24)
    assert len(positions(parse_key("G minor pentatonic"), neck)) == 5


def test_tunings_by_name_and_by_note() -> None:
    assert parse_tuning("standard").open_midi == (64, 59, 55, 50, 45, 40)
    assert parse_tuning("Drop  d") == parse_tuning("D2, A2, D3, G3, B3, E4")
    assert parse_tuning("D2 A2 D3 A3 A3 D4").open_midi[1:3] == (57, 57)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("E2 A2", "a tuning of 2 strings is not known here: give 4 to 8"),
        ("C2 D2 E2 F2 G2 A2 B2 C3 D3", "a tuning of 9 strings"),
        ("E2 A2 D3 G3 B3 X4", "'X4' is no pitch"),
        ("E4 B3 G3 D3 A2 E2", "must not fall"),
        ("E2 A2 D3 G3 B3 E9", "an open string at E9 is out of range: give B0 to E5"),
        ("", "a tuning of 0 strings"),
    ],
)
def test_no_tuning(words: str, sentence: str) -> None:
    with pytest.raises(TuningError, match=sentence):
        parse_tuning(words)


def test_open_strings_out_of_range_are_refused_as_numbers_too() -> None:
    with pytest.raises(TuningError, match=r"MIDI 90 is out of range: give B0 \(23\) to E5 \(76\)"):
        Tuning((90, 59, 55, 50))


@pytest.mark.parametrize(
    ("capo", "frets", "sentence"),
    [
        (0, 4, "a neck of 4 frets is not known here: give 5 to 36"),
        (0, 37, "a neck of 37 frets"),
        (-1, 22, "a capo on fret -1 does not fit a neck of 22 frets: give 0 to 21"),
        (22, 22, "a capo on fret 22"),
    ],
)
def test_no_neck(capo: int, frets: int, sentence: str) -> None:
    with pytest.raises(NeckError, match=sentence):
        Neck(capo=capo, frets=frets)


@pytest.mark.parametrize(
    ("string", "fret", "sentence"),
    [
        (0, 3, "string 0 does not exist: this neck has strings 1 to 6"),
        (7, 3, "string 7"),
        (1, 23, "has frets 2 to 22"),
        (1, 1, "fret 1"),
    ],
)
def test_no_such_note(string: int, fret: int, sentence: str) -> None:
    with pytest.raises(NeckError, match=sentence):
        Neck(capo=2).midi(string, fret)


@pytest.mark.parametrize(
    ("words", "number", "frets", "sentence"),
    [
        ("G minor pentatonic", 0, 22, "position 0 does not exist: G minor pentatonic has positions 1 to 5"),
        ("G minor pentatonic", 6, 22, "position 6 does not exist"),
        ("G major", 8, 22, "G major has positions 1 to 7"),
        ("G minor pentatonic", 5, 12, "needs fret 15: this neck ends at fret 12"),
    ],
)
def test_no_such_position(words: str, number: int, frets: int, sentence: str) -> None:
    with pytest.raises(PositionError, match=sentence):
        position(parse_key(words), number, Neck(frets=frets))


def test_a_position_may_end_on_the_last_fret() -> None:
    assert position(parse_key("G minor pentatonic"), 5, Neck(frets=15)).highest_fret == 15


def test_positions_that_do_not_fit_are_left_out() -> None:
    assert [place.number for place in positions(parse_key("G"), Neck(frets=12))] == [1, 2, 3]


def test_the_lowest_note_that_is_heard_is_the_first_above_what_is_searched() -> None:
    assert hz_of(LOWEST_HEARD - 1) < LOWEST_HZ <= hz_of(LOWEST_HEARD)
