"""A pre-bend is judged on the first pitch that stands: what the hand remembered, before the ear could help."""

from __future__ import annotations

import dataclasses

import pytest
from played import aim, played

from pedal.notes.note import Mend
from pedal.theory.cents import hz_of
from pedal.verdicts.judge import judge


def released(rest, first, **how):
    return played(rest, first, shape="fall", ending="released", final=0.0, **how)


@pytest.mark.parametrize(
    ("error", "word"), [(0.0, "true"), (-9.0, "true"), (14.0, "near"), (-33.0, "flat"), (40.0, "sharp")]
)
def test_a_prebend_and_release_is_measured_from_the_rest_heard_afterwards(error, word) -> None:
    verdict = judge(released("C4", 200.0 + error, detuned=-22.0), aim())
    assert (verdict.kind, verdict.rest_note, verdict.target_note, verdict.verdict) == (
        "prebend_release",
        "C4",
        "D4",
        word,
    )
    assert verdict.error_cents == pytest.approx(error)
    assert verdict.absolute_cents == pytest.approx(error - 22.0)
    assert verdict.rest_cents == pytest.approx(-22.0)


def test_the_first_pitch_counts_not_where_it_was_put_right() -> None:
    verdict = judge(played("C4", 200.0, shape="fall", ending="released", final=0.0, first=170.0), aim())
    assert verdict.error_cents == pytest.approx(-30.0)
    assert verdict.verdict == "flat"


def test_a_fall_that_never_rested_is_no_bend_to_judge_in_watch() -> None:
    note = played(None, 212.0, shape="fall", base="C4", final=120.0)
    verdict = judge(note, aim())
    assert (verdict.kind, verdict.verdict, verdict.error_cents, verdict.target_note) == (
        "unclear",
        "unclear",
        None,
        None,
    )
    assert "not heard to rest" in verdict.reason


@pytest.mark.parametrize("bends", [None, ("C4", "D4")])
def test_a_fall_that_never_rested_is_an_answer_in_blind(bends) -> None:
    note = played(None, 212.0, shape="fall", base="C4", final=120.0)
    verdict = judge(note, aim(judge_as="blind", bends=bends))
    assert (verdict.kind, verdict.rest_note, verdict.target_note) == ("prebend", None, "D4")
    assert verdict.error_cents == verdict.absolute_cents == pytest.approx(12.0)


class TestBlind:
    blind = aim(judge_as="blind", bends=("C4", "D4"), drone=True)

    @pytest.mark.parametrize(
        ("error", "word"), [(0.0, "true"), (5.0, "true"), (-8.0, "near"), (20.0, "sharp"), (-90.0, "flat")]
    )
    def test_a_held_prebend_is_judged_absolutely_in_halved_bands(self, error, word) -> None:
        note = played("D4", 0.0, shape="level", ending="cut", detuned=error)
        verdict = judge(note, self.blind)
        assert (verdict.kind, verdict.target_note, verdict.verdict) == ("prebend", "D4", word)
        assert verdict.error_cents == verdict.absolute_cents == pytest.approx(error)
        assert (verdict.rest_note, verdict.bend_cents) == (None, None)  # it was never heard to rest

    def test_released_it_is_measured_from_the_rest(self) -> None:
        verdict = judge(released("C4", 196.0, detuned=11.0), self.blind)
        assert (verdict.kind, verdict.verdict) == ("prebend_release", "true")
        assert verdict.error_cents == pytest.approx(-4.0)
        assert verdict.absolute_cents == pytest.approx(7.0)

    @pytest.mark.parametrize(("left", "told"), [(11.9, True), (12.1, False), (-11.9, True), (-12.1, False)])
    def test_put_right_is_what_came_nearer_by_more_than_the_least_rise(self, left: float, told: bool) -> None:
        """Eight cents: of 20 flat, 12 to either side are left."""
        flat = played("D4", 20.0, shape="rise", detuned=-20.0)
        note = dataclasses.replace(flat, raised_s=0.3, mend=Mend(hz_of(62.0 + left / 100.0), 0.34))
        assert ("mended in 0.3 s" in judge(note, self.blind).reason) == told

    def test_put_right_after_the_pluck_the_first_pitch_is_the_answer(self) -> None:
        note = dataclasses.replace(
            played("D4", 20.0, shape="rise", detuned=-20.0), raised_s=0.3, mend=Mend(hz_of(62.0), 0.34)
        )
        verdict = judge(note, self.blind)
        assert (verdict.kind, verdict.verdict) == ("prebend", "flat")
        assert verdict.error_cents == pytest.approx(-20.0)
        assert verdict.rest_note is None
        assert verdict.reason == "Pre-bend to D4: 20 cents flat, mended in 0.3 s."

    def test_bent_only_after_the_pluck_there_is_no_number(self) -> None:
        verdict = judge(played("C4", 200.0), self.blind)
        assert (verdict.kind, verdict.error_cents, verdict.rest_note) == ("unclear", None, "C4")
        assert verdict.reason == "Plucked first, then bent: bend first, then pluck."

    def test_another_note_is_named(self) -> None:
        verdict = judge(played("G4", 0.0, shape="level", ending="cut"), self.blind)
        assert (verdict.kind, verdict.error_cents) == ("unclear", None)
        assert verdict.reason.startswith("G4 was played")


class TestBlindWithoutTarget:
    blind = aim(judge_as="blind")

    def test_a_held_prebend_goes_to_the_nearest_scale_note_and_no_rest_is_claimed(self) -> None:
        verdict = judge(played("D4", 0.0, shape="level", ending="cut", detuned=18.0), self.blind)
        assert (verdict.kind, verdict.target_note, verdict.verdict) == ("prebend", "D4", "near")
        assert (verdict.rest_note, verdict.rest_cents, verdict.degree, verdict.bend_cents) == (None, None, None, None)
        assert verdict.error_cents == verdict.absolute_cents == pytest.approx(18.0)

    def test_bent_only_after_the_pluck_it_is_refused(self) -> None:
        verdict = judge(played("C4", 200.0), self.blind)
        assert (verdict.kind, verdict.rest_note, verdict.target_note, verdict.error_cents) == (
            "unclear",
            "C4",
            None,
            None,
        )
        assert verdict.reason == "Plucked first, then bent: bend first, then pluck."

    def test_watching_the_same_note_is_steady(self) -> None:
        verdict = judge(played("D4", 0.0, shape="level", ending="cut", detuned=18.0), aim())
        assert (verdict.kind, verdict.error_cents, verdict.verdict) == ("steady", None, "unclear")


def test_struck_again_while_bent_it_is_a_prebend_from_the_rest_before() -> None:
    verdict = judge(played("C4", 192.0, shape="level", ending="cut"), aim())
    assert (verdict.kind, verdict.target_note, verdict.verdict) == ("prebend", "D4", "true")
    assert verdict.error_cents == pytest.approx(-8.0)


def test_a_rung_prebent_from_another_fret_is_not_judged() -> None:
    verdict = judge(released("D4", 100.0), aim(judge_as="ladder", bends=("C4", "D4")))
    assert (verdict.kind, verdict.error_cents) == ("unclear", None)


@pytest.mark.parametrize(("first", "kind"), [(49.0, "steady"), (51.0, "prebend_release"), (150.0, "prebend_release")])
def test_what_comes_down_by_less_than_half_a_fret_was_no_bend_let_go(first, kind) -> None:
    assert judge(released("C4", first), aim()).kind == kind


@pytest.mark.parametrize(("rest", "kind"), [("D2", "unclear"), ("Eb2", "unclear"), ("F2", "prebend_release")])
def test_no_string_comes_down_below_the_lowest(rest, kind) -> None:
    """A slide down a low string was praised as a pre-bend released to a fret where there is none."""
    verdict = judge(released(rest, 200.0), aim("G minor pentatonic", lowest_midi=40))
    assert (verdict.kind, verdict.verdict) == (kind, "unclear" if kind == "unclear" else "true")
