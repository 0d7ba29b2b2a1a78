"""A bent string that is struck again: the fret it is still bent from is that of the note before."""

from __future__ import annotations

from dataclasses import replace

import pytest
from played import aim, played

from pedal.notes.note import Note
from pedal.theory.cents import cents_between, hz_of
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.fret import GuitarOffset
from pedal.verdicts.judge import judge
from pedal.verdicts.struck_again import struck_again

BENT = replace(played("C4", 200.0), rest_sigma_cents=0.5, raised_s=0.3)
GUITAR = GuitarOffset()


def next_note(cents: float = 200.0, *, first: float | None = None, raised_s: float = 0.1, **how) -> Note:
    """What the pluck that ended `BENT` made sound, in cents above C4; `first` begins a small rise."""
    if first is None:
        note = played("C4", cents, shape="level", ending="rang_out", **how)
        return replace(note, onset_s=2.5, end_s=3.5, rest_hz=note.hold_hz)
    note = played("C4", cents, first=first, ending="rang_out", **how)
    return replace(note, onset_s=2.5, end_s=3.5, rest_hz=note.first_hz, rest_sigma_cents=8.0, raised_s=raised_s)


def again(note: Note, before: Note | None = BENT, **how) -> Note:
    return struck_again(note, before, aim(**how), GUITAR)


def bent_by(note: Note) -> float:
    return cents_between(note.rest_hz, note.hold_hz)


def test_it_has_the_rest_of_the_note_before_and_is_judged_as_a_prebend_from_there() -> None:
    note = again(next_note(194.0))
    assert bent_by(note) == pytest.approx(194.0)
    assert note.rest_sigma_cents == BENT.rest_sigma_cents
    verdict = judge(note, aim())
    assert (verdict.kind, verdict.rest_note, verdict.target_note, verdict.verdict) == ("prebend", "C4", "D4", "true")
    assert verdict.error_cents == pytest.approx(-6.0, abs=0.5)


@pytest.mark.parametrize(("first", "cents"), [(164.0, 200.0), (151.0, 200.0), (190.0, 195.0), (170.0, 207.0)])
def test_a_small_rise_with_the_pluck_to_where_the_string_was_is_the_plucks(first: float, cents: float) -> None:
    """On recorded notes a pluck begins 5 to 36 cents flat and stands within 0.11 s."""
    note = again(next_note(cents, first=first))
    assert (note.shape, note.rise_s, note.ending) == ("level", 0.0, "rang_out")
    assert bent_by(note) == pytest.approx(cents)
    assert note.first_hz == note.hold_hz
    assert judge(note, aim()).kind == "prebend"


@pytest.mark.parametrize(
    "note",
    [
        next_note(cents=200.0, first=140.0),
        next_note(cents=191.0, first=170.0),
        next_note(cents=209.0, first=170.0),
        next_note(cents=200.0, first=170.0, raised_s=0.16),
        next_note(cents=200.0, first=170.0, shape="rise_fall"),
        next_note(cents=149.0),
        next_note(cents=182.0),
        next_note(cents=218.0),
        next_note(cents=251.0),
        next_note(refusal="two_strings"),
        replace(next_note(), onset_s=2.6),
        replace(next_note(), onset_s=2.501, begun_by="hammer_on"),
        replace(next_note(), begun_by="pull_off"),
    ],
    ids=[
        "rises by more than half a fret",
        "stands below where the string was",
        "stands above it",
        "rises when the pluck is over",
        "rises and falls",
        "level, another note below",
        "level, the note it was bent to, fretted after a flat bend",
        "level, the same after a sharp one",
        "level, another note above",
        "refused",
        "plucked after a silence",
        "begun by a finger after the pluck",
        "begun by a finger as the note before ended",
    ],
)
def test_what_is_no_string_that_was_held_bent_is_left_as_it_was(note: Note) -> None:
    assert again(note) is note


@pytest.mark.parametrize(
    "before",
    [
        None,
        replace(BENT, refusal="slide"),
        replace(BENT, final_hz=None),
        replace(BENT, rest_hz=None, from_hz=None),
        replace(BENT, final_hz=BENT.rest_hz),
    ],
    ids=["nothing before", "refused", "lost", "nothing tells its fret", "released"],
)
def test_a_note_before_that_was_not_held_bent_from_a_known_fret_says_nothing(before: Note | None) -> None:
    assert again(note := next_note(), before) is note


@pytest.mark.parametrize(("raised_s", "sigma"), [(0.09, 4.0), (0.11, 6.0), (None, 6.0)])
def test_a_rest_that_lasted_is_kept_though_where_it_would_settle_is_a_guess(raised_s, sigma: float) -> None:
    before = replace(BENT, raised_s=raised_s, rest_sigma_cents=sigma)
    assert bent_by(again(next_note(), before)) == pytest.approx(200.0)


@pytest.mark.parametrize(("from_cents", "heard"), [(35.0, "C4"), (110.0, "C4"), (190.0, "C4")])
def test_a_bend_whose_rest_nobody_heard_gives_the_fret_that_the_key_tells(from_cents: float, heard: str) -> None:
    """A bend that begins with the pluck is judged against the grid; struck again it is bent from the same fret."""
    from_hz = hz_of(parse_pitch("C4") + from_cents / 100)
    before = replace(BENT, rest_hz=None, from_hz=from_hz, first_hz=from_hz, raised_s=0.16)
    assert judge(before, aim()).rest_note == heard
    verdict = judge(again(next_note(), before), aim())
    assert (verdict.kind, verdict.rest_note, verdict.target_note, verdict.rest_heard) == ("prebend", heard, "D4", False)
    assert verdict.error_cents == pytest.approx(0.0, abs=0.5)


def test_a_fret_that_was_guessed_from_further_than_the_next_scale_note_is_none_to_build_upon() -> None:
    """A bar that slides up a fourth was told as a bend, and level notes after it as pre-bends (a recorded slide)."""
    from_hz = hz_of(parse_pitch("Bb3") - 0.1)
    before = replace(BENT, rest_hz=None, from_hz=from_hz, first_hz=from_hz, raised_s=0.02)
    assert judge(before, aim()).rest_note == "Bb3"
    assert again(note := next_note(), before) is note


@pytest.mark.parametrize(("held", "known"), [(200.0, True), (500.0, False)])
def test_a_rest_hardly_heard_is_as_good_as_one_that_was_not(held: float, known: bool) -> None:
    before = replace(played("C4", held), raised_s=0.09, rest_sigma_cents=5.0)
    assert (again(note := next_note(held), before) is not note) == known


def test_the_picks_noise_is_no_bend_that_could_be_struck_again() -> None:
    """Up to a fret from nowhere at once: level, so what is struck next is level too."""
    from_hz = hz_of(parse_pitch("D4") - 0.6)
    before = replace(BENT, rest_hz=None, from_hz=from_hz, first_hz=from_hz, raised_s=0.02)
    assert again(note := next_note(), before) is note


def test_struck_a_third_time_it_is_still_bent_from_the_same_fret() -> None:
    second = replace(again(next_note()), end_s=3.5)
    third = struck_again(replace(next_note(198.0), onset_s=3.5, end_s=4.5), second, aim(), GUITAR)
    assert bent_by(third) == pytest.approx(198.0)
