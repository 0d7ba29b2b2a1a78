"""Every note gets a verdict that the contract allows: refusals without a number, a sentence for each."""

from __future__ import annotations

import dataclasses
from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from played import EMPTY, aim, played

from pedal.notes.note import Ending, Refusal, Shape, Trace, Vibrato
from pedal.verdicts.judge import judge
from pedal.verdicts.verdict import Kind, Verdict, Word

KINDS = {"slide": "slide", "hammer_on": "hammer_on"}


@pytest.mark.parametrize("refusal", get_args(Refusal))
@pytest.mark.parametrize("mode", ["watch", "curl", "ladder", "blind", "tune"])
def test_a_refused_note_has_a_kind_a_sentence_and_no_number(refusal, mode) -> None:
    bends = ("C4", "D4") if mode in ("ladder", "blind") else None
    verdict = judge(played("C4", 200.0, refusal=refusal), aim(judge_as=mode, bends=bends))
    assert (verdict.shape, verdict.kind, verdict.verdict) == ("not_a_bend", KINDS.get(refusal, "unclear"), "unclear")
    numbers = (
        verdict.error_cents,
        verdict.absolute_cents,
        verdict.bend_cents,
        verdict.peak_cents,
        verdict.overshoot_cents,
    )
    assert numbers == (None,) * 5
    assert verdict.target_note is None
    assert len(verdict.reason) > 20


@pytest.mark.parametrize("refusal", ["slide", "hammer_on"])
def test_a_slide_or_hammer_on_still_names_its_first_note(refusal) -> None:
    assert judge(played("C4", 200.0, refusal=refusal), aim()).rest_note == "C4"


def test_two_strings_name_no_note() -> None:
    assert judge(played("C4", 200.0, refusal="two_strings"), aim()).rest_note is None


def test_a_level_note_is_steady_with_nothing_to_judge() -> None:
    verdict = judge(played("D4", 0.0, shape="level", ending="cut", detuned=-7.0), aim())
    assert (verdict.kind, verdict.verdict, verdict.error_cents, verdict.target_note) == (
        "steady",
        "unclear",
        None,
        None,
    )
    assert (verdict.rest_note, verdict.degree, verdict.bend_cents) == ("D4", "5", 0.0)
    assert verdict.rest_cents == pytest.approx(-7.0)


def test_vibrato_is_passed_on() -> None:
    verdict = judge(played("C4", 200.0, vibrato=Vibrato(5.5, 21.0)), aim())
    assert (verdict.vibrato_hz, verdict.vibrato_cents) == (5.5, 21.0)


def test_without_vibrato_both_are_zero() -> None:
    verdict = judge(played("C4", 200.0), aim())
    assert (verdict.vibrato_hz, verdict.vibrato_cents) == (0.0, 0.0)


@given(
    rest=st.sampled_from(["E2", "Bb2", "F#3", "C4", "Eb5", "D6", None]),
    cents=st.floats(-60, 620),
    shape=st.sampled_from(["level", "rise", "rise_fall", "fall"]),
    ending=st.sampled_from(get_args(Ending)),
    mode=st.sampled_from(["watch", "curl", "ladder", "blind", "tune"]),
    aimed=st.booleans(),
    key=st.sampled_from(["G minor pentatonic", "C# minor", "F major", "B blues", "Db mixolydian"]),
    drone=st.booleans(),
)
def test_every_verdict_is_within_the_contract(rest, cents, shape, ending, mode, aimed, key, drone) -> None:
    note = played(rest, cents, shape=shape, ending=ending, base="C4")
    verdict = judge(note, aim(key, judge_as=mode, bends=("C4", "D4") if aimed else None, drone=drone))
    assert verdict.kind in get_args(Kind)
    assert verdict.verdict in get_args(Word)
    assert verdict.shape in get_args(Shape)
    assert verdict.reason.endswith(".")
    assert verdict.reason.count(". ") == 0, "one sentence"
    assert (verdict.target_note is None) == (verdict.target_degree is None) == (verdict.error_cents is None)
    if rest is None and verdict.error_cents is not None:
        assert verdict.error_cents == verdict.absolute_cents
    if verdict.error_cents is None:
        assert verdict.verdict in ("unclear",) or verdict.kind == "curl"


def test_the_fields_are_those_of_the_contract() -> None:
    names = [f.name for f in dataclasses.fields(Verdict) if f.name != "trace"]
    assert names == [
        "onset_s", "end_s", "rest_note", "rest_cents", "degree", "shape", "kind", "target_note",
        "target_degree", "bend_cents", "error_cents", "absolute_cents", "peak_cents", "overshoot_cents", "rise_s",
        "hold_s", "final_cents", "ending", "vibrato_hz", "vibrato_cents", "verdict", "reason",
        "rest_heard", "begun_by", "vibrato_side", "vibrato_evenness",
    ]  # fmt: skip


def test_without_overshoot_it_is_nothing_and_the_rise_is_the_notes() -> None:
    verdict = judge(played("C4", 200.0), aim())
    assert (verdict.overshoot_cents, verdict.rise_s, verdict.hold_s) == (0.0, 0.2, 0.5)
    assert judge(played("C4", 0.0, shape="level", ending="cut"), aim()).rise_s is None


@pytest.mark.parametrize(("cents", "kind"), [(500.0, "bend"), (549.0, "bend"), (551.0, "unclear"), (640.0, "unclear")])
def test_further_than_a_finger_bends_nothing_is_judged(cents, kind) -> None:
    assert judge(played("C4", cents), aim()).kind == kind


@pytest.mark.parametrize(("ending", "told"), [("cut_sharp", "cut"), ("cut", "cut"), ("rang_out", "rang_out")])
def test_a_steady_note_is_not_cut_off_sharp(ending, told) -> None:
    assert judge(played("C4", 0.0, shape="level", ending=ending), aim()).ending == told


@pytest.mark.parametrize("refusal", ["two_strings", "no_pitch"])
@pytest.mark.parametrize(
    ("lowest_midi", "heard", "tells"), [(28, False, True), (33, False, True), (34, False, False), (28, True, False)]
)
def test_a_string_below_what_is_heard_is_not_told_to_be_two(
    refusal: Refusal, lowest_midi: int, heard: bool, tells: bool
) -> None:
    """On a neck that goes below Bb1, where not one reading had a pitch: nobody can say which of the two it was."""
    trace = Trace(np.ones(9), np.full(9, 98.0), np.zeros(9)) if heard else EMPTY
    verdict = judge(
        dataclasses.replace(played("C4", refusal=refusal), trace=trace),
        dataclasses.replace(aim(), lowest_midi=lowest_midi),
    )
    assert ("below Bb1" in verdict.reason) == tells
    assert (verdict.kind, verdict.verdict) == ("unclear", "unclear")


@pytest.mark.parametrize(
    ("hold_s", "final", "word"), [(0.0, 150.0, "unclear"), (0.0, 195.0, "true"), (0.08, 150.0, "true")]
)
def test_a_bend_that_never_stood_gets_no_number(hold_s: float, final: float, word: str) -> None:
    """Cut while it rose: where it would have come to is a guess."""
    note = dataclasses.replace(played("C4", 200.0, final=final), hold_s=hold_s)
    verdict = judge(note, aim())
    assert verdict.verdict == word
    assert ("never stood" in verdict.reason) is (word == "unclear")
    assert (verdict.error_cents is None) is (word == "unclear")
