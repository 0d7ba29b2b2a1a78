"""Figures as a guitarist says them."""

from __future__ import annotations

import dataclasses

import pytest
from played import aim, played

from pedal.verdicts.judge import judge
from pedal.verdicts.judgement import above, off


@pytest.mark.parametrize(
    ("cents", "words"),
    [
        (0.0, "dead on"),
        (0.4, "dead on"),
        (-0.4, "dead on"),
        (1.0, "1 cent sharp"),
        (-1.0, "1 cent flat"),
        (2.0, "2 cents sharp"),
        (-12.4, "12 cents flat"),
    ],
)
def test_an_error(cents, words) -> None:
    assert off(cents) == words


@pytest.mark.parametrize(("cents", "words"), [(0.0, "0 cents"), (1.2, "1 cent"), (2.0, "2 cents"), (34.5, "34 cents")])
def test_a_height(cents, words) -> None:
    assert above(cents) == words


@pytest.mark.parametrize(
    ("key", "rest", "cents", "kind"),
    [("G minor", "A3", 49.0, "unclear"), ("G minor", "A3", 51.0, "bend"), ("G minor pentatonic", "C4", 49.0, "unclear"),
     ("G minor pentatonic", "C4", 51.0, "bend")],
)  # fmt: skip
def test_a_nudge_is_under_half_a_fret_however_far_the_next_note_lies(key, rest, cents, kind) -> None:
    assert judge(played(rest, cents), aim(key)).kind == kind


@pytest.mark.parametrize(
    ("away", "kind"), [(-99.0, "prebend"), (-101.0, "unclear"), (149.0, "prebend"), (151.0, "unclear")]
)
def test_how_far_from_its_target_an_answer_may_lie(away, kind) -> None:
    blind = aim(judge_as="blind", bends=("C4", "D4"))
    verdict = judge(played("D4", 0.0, shape="level", ending="cut", detuned=away), blind)
    assert verdict.kind == kind


@pytest.mark.parametrize(("away", "words"), [(-340.0, "was plucked before"), (-360.0, "was played: the target")])
def test_an_answer_that_was_another_note_is_named(away, words) -> None:
    blind = aim(judge_as="blind", bends=("C4", "D4"))
    assert words in judge(played("D4", 0.0, shape="level", ending="cut", detuned=away), blind).reason


@pytest.mark.parametrize(
    ("raised_s", "kind"), [(0.05, "unclear"), (0.095, "unclear"), (0.105, "prebend"), (0.15, "prebend")]
)
def test_a_small_rise_before_a_hand_can_have_listened_was_no_mending(raised_s, kind) -> None:
    note = dataclasses.replace(played("D4", 20.0, shape="rise", detuned=-20.0), raised_s=raised_s)
    assert judge(note, aim(judge_as="blind", bends=("C4", "D4"))).kind == kind


@pytest.mark.parametrize(("raised", "kind"), [(49.0, "prebend"), (51.0, "unclear")])
def test_a_rise_of_more_than_a_quarter_tone_was_no_mending(raised, kind) -> None:
    note = dataclasses.replace(played("D4", raised, shape="rise", detuned=-40.0), raised_s=0.3)
    assert judge(note, aim(judge_as="blind", bends=("C4", "D4"))).kind == kind
