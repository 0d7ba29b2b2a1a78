"""A scale bend goes to the note above it in the scale, measured from the rest note as it was heard."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from played import aim, played

from pedal.theory.spelling import parse_pitch
from pedal.verdicts.judge import judge
from tests.note_names import NAMES

TWELVE = [  # position 1 in G, docs/sources.md: fret notes of the minor pentatonic, each to the next scale note
    ("G2", "Bb2"), ("Bb2", "C3"), ("C3", "D3"), ("D3", "F3"), ("F3", "G3"), ("G3", "Bb3"),
    ("Bb3", "C4"), ("C4", "D4"), ("D4", "F4"), ("F4", "G4"), ("G4", "Bb4"), ("Bb4", "C5"),
]  # fmt: skip


@pytest.mark.parametrize(("rest", "goal"), TWELVE)
@pytest.mark.parametrize("error", [-40.0, -3.0, 0.0, 12.0, 45.0])
def test_the_twelve_bends_of_a_position(rest, goal, error) -> None:
    way = 100.0 * (parse_pitch(goal) - parse_pitch(rest))
    verdict = judge(played(rest, way + error), aim())
    assert (verdict.kind, verdict.rest_note, verdict.target_note) == ("bend", rest, goal)
    assert verdict.error_cents == pytest.approx(error)
    assert verdict.absolute_cents == pytest.approx(error)


WORDS = [
    (0.0, "true"), (10.0, "true"), (-10.0, "true"), (10.1, "near"), (25.0, "near"), (-25.0, "near"),
    (25.1, "sharp"), (-25.1, "flat"), (-60.0, "flat"), (45.0, "sharp"),
]  # fmt: skip


@pytest.mark.parametrize(("error", "word"), WORDS)
def test_words(error, word) -> None:
    assert judge(played("C4", 200.0 + error), aim()).verdict == word


@pytest.mark.parametrize(
    ("error", "word"), [(5.0, "true"), (5.1, "near"), (-12.5, "near"), (12.6, "sharp"), (-12.6, "flat")]
)
def test_a_sounding_drone_halves_the_bands(error, word) -> None:
    assert judge(played("C4", 200.0 + error), aim(drone=True)).verdict == word


def test_a_sounding_drone_leaves_the_zone_of_curls_alone() -> None:
    assert judge(played("Bb3", 58.0), aim(drone=True)).verdict == "true"


@given(st.floats(-40, 40), st.floats(-60, 45), st.sampled_from([432.0, 440.0, 446.0]))
def test_the_guitars_own_tuning_is_in_the_absolute_error_only(detuned, error, a4_hz) -> None:
    verdict = judge(played("C4", 200.0 + error, detuned=detuned, a4_hz=a4_hz), aim(a4_hz=a4_hz))
    assert verdict.error_cents == pytest.approx(error, abs=1e-6)
    assert verdict.rest_cents == pytest.approx(detuned, abs=1e-6)
    assert verdict.absolute_cents == pytest.approx(error + detuned, abs=1e-6)


@given(st.integers(-5, 12), st.floats(-60, 45))
def test_transposing_moves_names_and_no_cent(up, error) -> None:
    midi = 60 + up
    key = f"{NAMES[(7 + up) % 12]} minor pentatonic"
    verdict = judge(played(f"{NAMES[midi % 12]}{midi // 12 - 1}", 200.0 + error), aim(key))
    assert verdict.degree == "4"
    assert parse_pitch(verdict.target_note) == midi + 2
    assert verdict.error_cents == pytest.approx(error, abs=1e-6)


GOALS = [
    ("G minor pentatonic", "Bb3", 200.0, "C4"),
    ("G minor pentatonic", "Bb3", 390.0, "D4"),  # a two-step bend lands on the scale note after the next
    ("G minor pentatonic", "G3", 240.0, "Bb3"),
    ("G minor pentatonic", "G3", 490.0, "C4"),
    ("G minor", "A3", 100.0, "Bb3"),
    ("G minor", "A3", 160.0, "Bb3"),
    ("G minor", "A3", 290.0, "C4"),
    ("G blues", "C4", 60.0, "Db4"),
    ("G blues", "C4", 200.0, "D4"),
    ("G major", "B3", 100.0, "C4"),
    ("G minor pentatonic", "A3", 95.0, "Bb3"),  # from a note outside the scale, too
]


OUTSIDE = [
    ("G minor pentatonic", "Bb3", 310.0, "Bb3 bent one and a half steps to Db4, outside the key."),
    ("G minor pentatonic", "G3", 210.0, "G3 bent a whole step to A3, outside the key."),
    ("G minor pentatonic", "G3", 176.0, "G3 bent a whole step to A3, outside the key."),
    ("G minor", "A3", 195.0, "A3 bent a whole step to B3, outside the key."),
    ("G minor pentatonic", "Bb3", 500.0, "Bb3 bent two and a half steps to Eb4, outside the key."),  # the furthest
    ("G minor pentatonic", "C4", 90.0, "C4 bent a half step to Db4, outside the key."),
]


@pytest.mark.parametrize(("key", "rest", "cents", "sentence"), OUTSIDE)
def test_a_hold_at_a_semitone_outside_the_key_is_named_and_is_no_flat_try(key, rest, cents, sentence) -> None:
    verdict = judge(played(rest, cents), aim(key))
    assert (verdict.kind, verdict.verdict, verdict.reason) == ("bend", "unclear", sentence)
    assert (verdict.target_note, verdict.error_cents) == (None, None)


@pytest.mark.parametrize(("key", "rest", "cents", "goal"), GOALS)
def test_the_next_scale_note_unless_another_is_clearly_nearer(key, rest, cents, goal) -> None:
    assert judge(played(rest, cents), aim(key)).target_note == goal


def test_a_nudge_has_no_target_and_no_number() -> None:
    verdict = judge(played("C4", 30.0), aim())
    assert (verdict.kind, verdict.verdict, verdict.error_cents, verdict.target_note) == (
        "unclear",
        "unclear",
        None,
        None,
    )
    assert "nudged" in verdict.reason


def test_a_released_bend_is_judged_by_its_height() -> None:
    verdict = judge(played("C4", 188.0, shape="rise_fall", ending="released", final=1.0), aim())
    assert (verdict.kind, verdict.verdict, verdict.ending) == ("bend_release", "near", "released")
    assert verdict.error_cents == pytest.approx(-12.0)
    assert verdict.final_cents == pytest.approx(1.0)


def test_overshoot_is_shown() -> None:
    verdict = judge(played("C4", 200.0, peak=228.0), aim())
    assert verdict.peak_cents == pytest.approx(228.0)
    assert verdict.overshoot_cents == pytest.approx(28.0)


def test_a_rung_is_judged_against_its_target_even_if_another_note_is_nearer() -> None:
    rung = aim(judge_as="ladder", bends=("G3", "Bb3"))
    verdict = judge(played("G3", 480.0), rung)
    assert (verdict.target_note, verdict.verdict) == ("Bb3", "sharp")
    assert verdict.error_cents == pytest.approx(180.0)


def test_a_rung_played_from_another_fret_is_not_judged_and_says_so() -> None:
    verdict = judge(played("A3", 300.0), aim(judge_as="ladder", bends=("G3", "Bb3")))
    assert (verdict.kind, verdict.error_cents, verdict.rest_note) == ("unclear", None, "A3")
    assert "A3 was played" in verdict.reason
    assert "G3" in verdict.reason


def test_a_rest_that_was_heard_is_named_even_below_the_lowest_string() -> None:
    verdict = judge(played("E2", 200.0, detuned=-60.0), aim("E minor pentatonic", lowest_midi=40))
    assert (verdict.rest_note, verdict.rest_heard) == ("D#2", True)
    assert verdict.rest_cents == pytest.approx(40.0)
