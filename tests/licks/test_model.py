"""Heard notes -> the model; and what makes no model."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, lick_of, played  # type: ignore[import-not-found]
from strategies import licks  # type: ignore[import-not-found]
from verdicts_by_rule import verdict  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.heard import HeardNote, heard_note, model_of
from pedal.licks.lick import Lick, LickError, LickNote, plain_form, transposed
from pedal.licks.marks import mark_pass
from pedal.theory.neck import PLAIN_NECK
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Bands


@given(lick=licks())
@settings(max_examples=80, deadline=None)
def test_what_was_played_is_the_model(lick: Lick) -> None:
    heard = played(replace(lick, key=KEY))
    model = model_of(heard, KEY)
    # A bend with nothing in its name to tell it from a plain one is heard as its sound.
    assert [note.sounds for note in model.notes] == [note.sounds for note in lick.notes]
    for one, other in zip(model.onsets_s, lick.onsets_s, strict=True):
        assert one == pytest.approx(other, abs=0.02)


@pytest.mark.parametrize(
    ("kind", "rest", "target", "sounds"),
    [
        ("steady", "C4", None, (C4,)),
        ("curl", "Bb3", None, (Bb3,)),
        ("bend", "C4", "D4", (C4, D4)),
        ("bend_release", "C4", "D4", (C4, D4, C4)),
        ("prebend", None, "D4", (D4,)),
        ("prebend", "C4", "D4", (D4,)),
        ("prebend_release", "C4", "D4", (D4, C4)),
        ("bend", None, "D4", ()),  # where it began was not heard: it has no name
        ("prebend_release", None, "D4", ()),
        ("unclear", None, None, ()),
    ],
)
def test_a_heard_note_sounds_what_it_went_through(
    kind: str, rest: str | None, target: str | None, sounds: tuple[int, ...]
) -> None:
    note = heard_note(verdict(kind=kind, rest_note=rest, target_note=target))
    assert note is not None and note.sounds == sounds


def test_the_beat_is_one_that_the_notes_fall_on() -> None:
    model = model_of(played(lick_of(G3, Bb3, C4, D4, F4, beats=0.5, tempo=84.0)), KEY)
    assert model.beats_a_minute == pytest.approx(84.0, rel=0.02)
    assert all(note.beats == pytest.approx(0.5, abs=0.02) for note in model.notes)


@pytest.mark.parametrize(("heard", "ending"), [("rang_out", "ring"), ("cut_sharp", "cut"), ("cut", "cut")])
def test_a_note_that_rang_out_rings_in_the_model_and_one_that_was_stopped_does_not(heard: str, ending: str) -> None:
    notes = [replace(note, ending=heard) for note in played(lick_of(G3, Bb3, C4))]
    assert {note.ending for note in model_of(notes, KEY).notes} == {ending}


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda heard: [], "no note was heard: play 2 to 24 single notes"),
        (lambda heard: heard[:1], "a lick of 1 note is none: give 2 to 24"),
        (lambda heard: heard * 9, "a lick of 45 notes is too long"),
        (
            lambda heard: [replace(n, midi=None, kind="unclear") for n in heard],
            "5 notes had no clear pitch: play single notes, one string at a time",
        ),
        (lambda heard: [*heard[:4], replace(heard[4], onset_s=40.0, end_s=41.0)], "longer than 15 s"),
    ],
)
def test_what_makes_no_model_is_told(change, sentence) -> None:
    with pytest.raises(LickError, match=re.escape(sentence)):
        model_of(change(played(lick_of(G3, Bb3, C4, D4, F4))), KEY)


@given(lick=licks())
@settings(max_examples=60, deadline=None)
def test_plain_it_sounds_the_same_notes(lick: Lick) -> None:
    plain = plain_form(lick)
    assert [midi for _, note in plain for midi in note.sounds] == [m for note in lick.notes for m in note.sounds]
    assert all(note.inflection == "plain" for _, note in plain)
    assert sum(n.beats + n.rest_beats for _, n in plain) == pytest.approx(
        sum(n.beats + n.rest_beats for n in lick.notes)
    )


@pytest.mark.parametrize(("word", "steps"), [("A", 2), ("C", 5), ("C#", 6), ("D", -5), ("F#", -1), ("G", 0)])
def test_another_key_is_reached_by_the_nearer_way(word: str, steps: int) -> None:
    moved = transposed(lick_of(G3, D4), parse_key(f"{word} minor pentatonic"))
    assert [note.midi for note in moved.notes] == [G3 + steps, D4 + steps]


def test_a_lick_off_the_neck_is_told_from_one_on_it() -> None:
    assert lick_of(G3, D4).fits(PLAIN_NECK)
    assert not lick_of(39, 41).fits(PLAIN_NECK)
    assert not lick_of(86, 90).fits(PLAIN_NECK)


def test_every_note_says_what_is_wrong_with_it() -> None:
    for wrong in (
        {"midi": 5}, {"beats": 0.0}, {"beats": 90.0}, {"rest_beats": -1.0}, {"inflection": "bend"},
        {"target_midi": D4}, {"inflection": "bend", "target_midi": 80}, {"inflection": "curl", "cents": 3.0},
        {"cents": 20.0},
    ):  # fmt: skip
        with pytest.raises(LickError):
            replace(LickNote(C4, 1.0), **wrong)


def test_a_touch_of_the_pick_is_no_note() -> None:
    from verdicts_by_rule import verdict  # type: ignore[import-not-found]

    assert heard_note(verdict(rest_note=None, kind="unclear", seconds=0.03)) is None
    assert heard_note(verdict(rest_note=None, kind="unclear", seconds=0.3)) is not None
    assert heard_note(verdict(rest_note="Bb3", kind="steady", seconds=0.03)) is not None


@pytest.mark.parametrize(
    ("cents", "word", "mark", "words"),
    [
        (100.0, "true", "bent", ""),
        (82.0, "near", "near", "was 18 flat"),
        (200.0, "true", "missed", "went to another note"),
    ],
)
def test_a_bend_to_a_note_outside_the_key_is_in_the_model_and_asked_for(
    cents: float, word: str, mark: str, words: str
) -> None:
    """The fault: it was plain in the model, and whoever played it again was told that it "was bent"."""

    def phrase(bend_cents: float) -> list[HeardNote]:
        bend = verdict(kind="bend", rest_note="C4", target_note=None, bend_cents=bend_cents, verdict="unclear")
        around = [verdict(rest_note=name, kind="steady") for name in ("G3", "Bb3", "G3")]
        notes = [heard_note(one) for one in (around[0], bend, *around[1:])]
        return [replace(note, onset_s=n, end_s=n + 0.9) for n, note in enumerate(notes)]

    model = model_of(phrase(101.0), KEY)
    assert (model.notes[1].inflection, model.notes[1].target_midi) == ("bend", C4 + 1)
    again = phrase(cents)
    assert again[1].word == word
    found = mark_pass(asked(model, "as_played", None), again, question="as_played", key=KEY, bands=Bands())
    assert (found.marks[1].mark, found.marks[1].words) == (mark, words)
    fretted = [*again[:1], replace(again[1], kind="steady", target_midi=None, bend_cents=0.0), *again[2:]]
    plain = mark_pass(asked(model, "as_played", None), fretted, question="as_played", key=KEY, bands=Bands())
    assert plain.right == 3
