"""A curl ends while it is sharp, in a zone of heights; no height in it is *the* right one."""

from __future__ import annotations

import pytest
from played import aim, played

from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Bands
from pedal.verdicts.judge import judge

HEIGHTS = [
    (8.0, "near"), (14.9, "near"), (15.0, "true"), (35.0, "true"), (60.0, "true"), (60.1, "near"), (75.0, "near"),
    (75.1, "sharp"), (99.0, "sharp"),
]  # fmt: skip


@pytest.mark.parametrize(("cents", "word"), HEIGHTS)
@pytest.mark.parametrize("rest", ["Bb3", "F4"])
def test_heights_of_a_curl_cut_sharp(rest, cents, word) -> None:
    verdict = judge(played(rest, cents), aim())
    assert (verdict.kind, verdict.verdict, verdict.error_cents, verdict.target_note) == ("curl", word, None, None)
    assert verdict.bend_cents == pytest.approx(cents)


@pytest.mark.parametrize("cents", [20.0, 35.0, 70.0])
def test_released_is_a_miss_however_good_the_height(cents) -> None:
    verdict = judge(played("Bb3", cents, shape="rise_fall", ending="released", final=0.0), aim())
    assert (verdict.kind, verdict.verdict, verdict.ending) == ("curl", "released", "released")
    assert verdict.final_cents == pytest.approx(0.0)
    assert "released" in verdict.reason


def test_left_to_ring_is_near_and_says_what_to_do() -> None:
    verdict = judge(played("Bb3", 35.0, ending="rang_out"), aim())
    assert verdict.verdict == "near"
    assert "cut it off" in verdict.reason


def test_the_tuning_of_the_string_is_taken_out_and_shown_apart() -> None:
    verdict = judge(played("Bb3", 35.0, detuned=-18.0), aim())
    assert verdict.verdict == "true"
    assert verdict.rest_cents == pytest.approx(-18.0)


def test_zone_edges_are_settings() -> None:
    wide = Bands(zone_low_cents=5.0, zone_high_cents=90.0)
    assert judge(played("Bb3", 85.0), aim(bands=wide)).verdict == "true"


@pytest.mark.parametrize(
    ("rest", "mode", "cents", "kind"),
    [
        ("Bb3", "watch", 99.0, "curl"),
        ("Bb3", "watch", 130.0, "bend"),
        ("Bb3", "curl", 130.0, "curl"),
        ("Bb3", "curl", 190.0, "bend"),
        ("Bb3", "ladder", 90.0, "bend"),
        ("C4", "watch", 99.0, "bend"),
        ("C4", "watch", 35.0, "unclear"),
        ("C4", "curl", 35.0, "unclear"),
        ("G3", "watch", 30.0, "unclear"),
        ("F3", "watch", 30.0, "curl"),
    ],
)
def test_where_a_curl_ends_and_a_bend_begins(rest, mode, cents, kind) -> None:
    assert judge(played(rest, cents), aim(judge_as=mode)).kind == kind


@pytest.mark.parametrize(
    ("key", "rest", "degree"),
    [("G minor pentatonic", "Bb3", "b3"), ("B minor pentatonic", "D4", "b3"), ("C# minor pentatonic", "B3", "b7"),
     ("E blues", "D4", "b7"), ("D dorian", "F4", "b3"), ("A mixolydian", "G4", "b7")],
)  # fmt: skip
def test_curls_belong_to_the_flat_third_and_seventh_of_any_key(key, rest, degree) -> None:
    verdict = judge(played(rest, 35.0), aim(key))
    assert (verdict.kind, verdict.degree, verdict.rest_note) == ("curl", degree, rest)


HALF_STEPS = [
    ("G minor pentatonic", {11, 5}, "Bb3", "B3"),  # over G7, its third and seventh
    ("G minor pentatonic", {6, 0}, "F4", "F#4"),  # over D7
    ("G [1 2 b3 3 5 6]", set(), "Bb3", "B3"),
    ("G [1 2 b3 3 5 6]", {0, 4}, "Bb3", "B3"),  # over C: clearly nearer to another note of the key
]


@pytest.mark.parametrize(("key", "goals", "rest", "target"), HALF_STEPS)
@pytest.mark.parametrize(
    ("cents", "word"), [(75.1, "near"), (89.9, "near"), (90.0, "true"), (95.0, "true"), (99.9, "true"), (108.0, "true")]
)
def test_where_the_semitone_above_is_aimed_at_what_comes_near_it_is_a_bend(key, goals, rest, target, cents, word):
    """A cent short of it, the same bend was told a curl overdone; over the curls' zone the ear hears the semitone."""
    verdict = judge(played(rest, cents), aim(key, goals=frozenset(goals)))
    assert (verdict.kind, verdict.verdict) == ("bend", word)
    assert parse_pitch(verdict.target_note) == parse_pitch(target)
    assert verdict.error_cents == pytest.approx(cents - 100.0)


@pytest.mark.parametrize(("key", "goals", "rest", "target"), HALF_STEPS)
@pytest.mark.parametrize(
    ("cents", "word"), [(20.0, "true"), (35.0, "true"), (60.0, "true"), (70.0, "near"), (75.0, "near")]
)
def test_a_curl_in_or_by_its_zone_stays_one_wherever_a_bend_would_go(key, goals, rest, target, cents, word) -> None:
    verdict = judge(played(rest, cents), aim(key, goals=frozenset(goals)))
    assert (verdict.kind, verdict.verdict, verdict.target_note) == ("curl", word, None)


def test_such_a_bend_may_be_given_back() -> None:
    note = played("Bb3", 95.0, shape="rise_fall", ending="released", final=0.0)
    assert judge(note, aim(goals=frozenset({11, 5}))).kind == "bend_release"
    assert judge(note, aim()).kind == "curl"


@pytest.mark.parametrize(
    ("goals", "mode", "cents"),
    [({11, 5}, "curl", 95.0), (set(), "watch", 95.0), ({0, 4}, "watch", 95.0), ({2, 6}, "watch", 99.9)],
)
def test_in_curl_or_where_the_next_note_lies_further_up_it_is_a_curl_overdone(goals, mode, cents) -> None:
    verdict = judge(played("Bb3", cents), aim(judge_as=mode, goals=frozenset(goals)))
    assert (verdict.kind, verdict.verdict) == ("curl", "sharp")


@pytest.mark.parametrize(("cents", "kind"), [(40.0, "curl"), (50.0, "curl"), (50.1, "bend")])
def test_less_than_half_a_fret_is_no_bend_however_narrow_the_zone_is_set(cents, kind) -> None:
    narrow = Bands(zone_high_cents=30.0, zone_near_cents=35.0)
    assert judge(played("Bb3", cents), aim(goals=frozenset({11, 5}), bands=narrow)).kind == kind
