"""A curl ends while it is sharp, in a zone of heights; no height in it is *the* right one."""

from __future__ import annotations

import pytest
from played import aim, played

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
