"""The text of a lick: there and back, and every mistake with its line and a remedy."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from strategies import licks  # type: ignore[import-not-found]

from pedal.licks.lick import Lick, LickNote
from pedal.licks.text import FIRST_LINE, LickTextError, read_lick, write_lick

HEAD = f"{FIRST_LINE}\nkey G minor pentatonic\n"
DOCS = Path(__file__).resolve().parents[2] / "docs" / "licks.md"


@given(lick=licks())
@settings(max_examples=150, deadline=None)
def test_what_is_written_is_read_again(lick: Lick) -> None:
    again = read_lick(write_lick(lick))
    assert again.beats_a_minute == pytest.approx(lick.beats_a_minute, rel=1e-5)
    assert [replace(note, beats=0.5, rest_beats=0.0) for note in again.notes] == [
        replace(note, beats=0.5, rest_beats=0.0) for note in lick.notes
    ]
    for one, other in zip(again.notes, lick.notes, strict=True):
        assert one.beats == pytest.approx(other.beats, abs=0.0005)
        assert one.rest_beats == pytest.approx(other.rest_beats, abs=0.0005)
    assert (str(again.key), again.tuning, again.name) == (str(lick.key), lick.tuning, lick.name)
    assert write_lick(again) == write_lick(lick)


def test_the_example_of_the_page_is_a_lick() -> None:
    text = re.search(r"```\n(undertoe lick 1.*?)```", DOCS.read_text(), re.S)
    assert text is not None
    lick = read_lick(text[1])
    assert [note.sounds for note in lick.notes] == [(55,), (58,), (60,), (62, 65, 62), (55,)]
    assert (lick.notes[1].cents, lick.notes[1].rest_beats, lick.notes[4].string) == (35.0, 0.5, 4)


@pytest.mark.parametrize(
    ("word", "midi"), [("1", 55), ("b3", 58), ("♭7", 65), ("b3'", 70), ("5,", 50), ("Bb2", 46), ("#4", 61)]
)
def test_a_degree_or_a_pitch_names_a_note(word: str, midi: int) -> None:
    assert read_lick(f"{HEAD}{word} 1\nD4 1\n").notes[0].midi == midi


def test_degrees_count_from_the_note_that_is_given() -> None:
    assert read_lick(f"{HEAD}from G2\n1 1\nb7 1/2\n").notes[1] == LickNote(53, 0.5)


def test_a_lick_that_says_no_tempo_has_the_one_of_the_page() -> None:
    """docs/licks.md: 90 beats a minute where nothing is said."""
    assert read_lick(f"{HEAD}D4 1\nF4 1\n").beats_a_minute == 90.0


def test_a_bend_to_a_degree_goes_to_the_next_one_above() -> None:
    assert read_lick(f"{HEAD}D4 1 bend b7\nD4 1").notes[0].target_midi == 65


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ("G3 1\nBb3 1 curll 30", "line 4: 'curll' is no word of a lick: did you mean curl?"),
        ("G3 1\nH3 1", "line 4: 'H3' is neither a note nor a degree"),
        ("G3\nD4 1", "line 3: G3 has no length: give its beats, such as: G3 1/2"),
        ("G3 0\nD4 1", "line 3: a note of 0 beats cannot be"),
        ("G3 1/0\nD4 1", "line 3: '1/0' is no length"),
        ("G3 x\nD4 1", "line 3: 'x' is no length: give a share of a beat such as 1/2, 1 or 0.75"),
        ("rest 1\nG3 1\nD4 1", "line 3: a lick begins with a note, not with a rest"),
        ("G3 1\nrest\nD4 1", "line 4: a rest has a length and nothing else"),
        ("G3 1 bend\nD4 1", "line 3: bend does not say where it goes"),
        ("G3 1 bend G3\nD4 1", "line 3: a bend of 0 semitones cannot be: give 1 to 5"),
        ("G3 1 bend D4\nD4 1", "line 3: a bend of 7 semitones cannot be: give 1 to 5"),
        ("G3 1 curl 30 bend Bb3\nD4 1", "line 3: a note has one inflection, this one has curl and bend"),
        ("G3 1 curl 120\nD4 1", "line 3: a curl of 120 cents is none: give 8 to 99"),
        ("G3 1 vibrato\nD4 1", "line 3: vibrato needs its rate and width"),
        ("G3 1 vibrato 90 20\nD4 1", "line 3: vibrato is 0 to 20 times a second"),
        ("G3 1 at 3/9\nD4 1", "line 3: at 3/9 is another note in this tuning"),
        ("G3 1 at 9/3\nD4 1", "line 3: string 9 does not exist: this tuning has strings 1 to 6"),
        ("G3 1 at x\nD4 1", "line 3: at needs string and fret, such as: at 3/5"),
        ("G3 1 at ²/5\nD4 1", "line 3: at needs string and fret, such as: at 3/5"),
        ("G3 1 at 3/⑤\nD4 1", "line 3: at needs string and fret, such as: at 3/5"),
        ("tempo quick\nG3 1\nD4 1", "line 3: 'quick' is no number for tempo"),
        ("tempo 3\nG3 1\nD4 1", "a tempo of 3 cannot be: give 20 to 400 beats a minute"),
        ("key A minor\nG3 1\nD4 1", "line 3: key stands on line 2 already: keep one of the two"),
        ("G3 1\ntempo 90\nD4 1", "line 4: tempo comes after the first note: put it above the notes"),
        ("name\nG3 1\nD4 1", "line 3: name says nothing"),
        ("name old\x1b[2Jgate\nG3 1\nD4 1", "line 3: the name holds what is not there to be read (old?[2Jgate)"),
        ("name old \u202etag\nG3 1\nD4 1", "line 3: the name holds what is not there to be read (old ?tag)"),
        ("name o\u200bld\nG3 1\nD4 1", "line 3: the name holds what is not there to be read (o?ld)"),
        ("tuning E2 A2\nG3 1\nD4 1", "line 3: a tuning of 2 strings is not known here"),
        ("G3 1", "a lick of 1 note is none: give 2 to 24"),
        ("G3 1\n" * 25, "a lick of 25 notes is too long: give 2 to 24"),
        ("G3 20\nD4 20", "is too long: give at most 15 s"),
        ("C9 1\nD4 1", "a note at MIDI 120 is off every neck"),
        ("C99 1\nD4 1", "is out of range: give a pitch from C-1 to G9"),
        ("G3 1 " + "ring " * 50, "line 3: it is longer than 200 letters"),
        ("G3 1\n" * 300, "line 201: a lick has at most 200 lines"),
    ],
)
def test_a_mistake_is_named_with_its_line_and_a_remedy(lines: str, sentence: str) -> None:
    with pytest.raises(LickTextError, match=re.escape(sentence)):
        read_lick(HEAD + lines)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "line 1: this is no lick: its first line must be"),
        ("<html>", "line 1: this is no lick"),
        (f"{FIRST_LINE}\nG3 1\nD4 1", "no key is given: add a line such as: key G minor pentatonic"),
        (f"{FIRST_LINE}\nkey H\nG3 1\nD4 1", "line 2: 'H' is no key"),
        (f"{FIRST_LINE}\nb3 1\nD4 1", "line 2: degree b3 needs a key"),
        (f"{FIRST_LINE}\nkye G\nG3 1\nD4 1", "line 2: 'kye' is neither a note nor a degree: did you mean key?"),
        ("undertoe lick 9\n", "line 1: this is no lick"),
    ],
)
def test_what_is_no_lick_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(LickTextError, match=re.escape(sentence)):
        read_lick(text)


def test_every_fault_is_named_at_once() -> None:
    with pytest.raises(LickTextError) as refused:
        read_lick(f"{HEAD}G3\nBb3 1 cur\nC4 1\n")
    assert [fault.split(":")[0] for fault in refused.value.faults] == ["line 3", "line 4"]
