"""What a bend asks of the hand: grades, support, and the twelve bends of position 1 by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.theory.effort import CAUTIONS, Rig, RigError, Thresholds, support_for
from pedal.theory.force import Push
from pedal.theory.neck import Bend, Neck, parse_tuning
from pedal.theory.position_sheet import position_sheet
from pedal.theory.scale import SCALES, parse_key
from pedal.theory.strings import LIGHT_SET, StringSetError, parse_string_set
from pedal.theory.zone import BlueZone, ZoneError
from pedal.verdicts.aim import Bands

KEY = parse_key("G minor pentatonic")
GRADES = ("light", "firm", "heavy", "not_with_this_set")
BY_HAND = [
    (6, 3, 3, 11.25, 14.51),
    (6, 6, 2, 11.08, 8.25),
    (5, 3, 2, 10.60, 13.41),
    (5, 5, 3, 15.85, 16.05),
    (4, 3, 2, 11.48, 13.81),
    (4, 5, 3, 17.18, 16.52),
    (3, 3, 2, 8.61, 9.25),
    (3, 5, 2, 10.20, 7.81),
    (2, 3, 3, 13.70, 15.28),
    (2, 6, 2, 13.49, 8.70),
    (1, 3, 3, 18.32, 21.41),
    (1, 6, 2, 18.01, 12.23),
]
"""String, fret, semitones, millimetres, newtons: computed apart from this code, wound strings with the same cores."""


def push(force_n: float, breaking_share: float = 0.5) -> Push:
    return Push(0.01, force_n, 90.0, breaking_share, 0.02)


def test_the_twelve_bends_of_position_one_by_hand() -> None:
    rows = position_sheet(KEY, 1, Rig()).bends
    for row, (string, fret, semitones, travel_mm, force_n) in zip(rows, BY_HAND, strict=True):
        assert (row.bend.string, row.bend.fret, row.bend.semitones) == (string, fret, semitones)
        assert 1e3 * row.effort.push.travel_m == pytest.approx(travel_mm, abs=0.01)
        assert row.effort.push.force_n == pytest.approx(force_n, abs=0.01)


@pytest.mark.parametrize(
    ("force_n", "share", "grade"),
    [
        (5.99, 0.5, "light"),
        (6.0, 0.5, "firm"),
        (11.99, 0.5, "firm"),
        (12.0, 0.5, "heavy"),
        (17.99, 0.5, "heavy"),
        (18.0, 0.5, "not_with_this_set"),
        (1.0, 0.9, "not_with_this_set"),
        (1.0, 0.89, "light"),
    ],
)
def test_grades_begin_at_their_thresholds(force_n: float, share: float, grade: str) -> None:
    assert Thresholds().grade(push(force_n, share)) == grade


def test_thresholds_are_settings() -> None:
    assert Thresholds(1, 2, 3).grade(push(2.5)) == "heavy"


@pytest.mark.parametrize("edges", [(0, 12, 18), (13, 12, 18), (6, 19, 18)])
def test_thresholds_that_fall_are_refused(edges: tuple[float, ...]) -> None:
    with pytest.raises(RigError, match="the grades of force must not fall"):
        Thresholds(*edges)


def test_a_breaking_share_beyond_one_is_refused() -> None:
    with pytest.raises(RigError, match="above 0 and at most 1, got 1.5"):
        Thresholds(breaking_share=1.5)


@given(st.sampled_from(GRADES), st.integers(3, 5), st.integers(1, 24))
def test_one_and_a_half_steps_never_fall_to_the_first_finger_alone(grade, semitones: int, room: int) -> None:
    support = support_for(grade, semitones, room=room)
    assert support.finger >= 2
    assert support.behind >= 1


@given(st.sampled_from(GRADES), st.integers(1, 5), st.integers(1, 24))
def test_support_never_shrinks_with_the_weight_and_says_when_it_is_cramped(grade, semitones: int, room: int) -> None:
    support = support_for(grade, semitones, room=room)
    assert support.finger == support.behind + 1 <= 3
    assert support.cramped == (support_for(grade, semitones, room=24).finger > room)
    for heavier in GRADES[GRADES.index(grade) :]:
        assert support_for(heavier, semitones, room=room).finger >= support.finger


@pytest.mark.parametrize(
    ("grade", "semitones", "room", "short", "words"),
    [
        ("light", 1, 5, "index", "index finger alone"),
        ("light", 2, 5, "middle +1", "middle finger, one behind it"),
        ("firm", 1, 5, "middle +1", "middle finger, one behind it"),
        ("light", 2, 1, "index", "index finger alone, no room for more: better another place"),
        ("heavy", 2, 5, "ring +2", "ring finger, two behind it"),
        ("light", 3, 5, "ring +2", "ring finger, two behind it"),
        ("heavy", 3, 1, "middle +1", "middle finger, one behind it, no room for more: better another place"),
    ],
)
def test_support_in_words(grade, semitones: int, room: int, short: str, words: str) -> None:
    support = support_for(grade, semitones, room=room)
    assert (support.short, str(support)) == (short, words)


@given(st.sampled_from(list(SCALES)), st.integers(1, 5), st.integers(0, 3))
def test_every_bend_of_every_position_can_be_weighed(scale: str, number: int, capo: int) -> None:
    sheet = position_sheet(parse_key(f"A {scale}"), number, Rig(Neck(capo=capo, frets=27)))
    for row in sheet.bends:
        assert row.effort.grade in GRADES
        assert 0 < row.effort.push.travel_m < 0.05
    for row in sheet.curls:
        assert row.low_push.travel_m < row.high_push.travel_m
        assert row.low_hz < row.high_hz


def test_a_capo_shortens_the_string_and_keeps_its_tension() -> None:
    open_rig, capo_rig = Rig(), Rig(Neck(capo=5))
    assert capo_rig.stretched(1).rest_n == pytest.approx(open_rig.stretched(1).rest_n, rel=1e-9)
    bend = Bend(1, 17, 81, 83)
    assert capo_rig.effort(bend).push.force_n != pytest.approx(open_rig.effort(bend).push.force_n, rel=0.01)


def test_a_lower_pitch_is_lighter() -> None:
    down = Rig(Neck(parse_tuning("whole-step down")))
    assert down.effort(Bend(3, 5, 58, 60)).push.force_n < Rig().effort(Bend(3, 5, 60, 62)).push.force_n


def test_curls_of_g_sound_where_the_zone_says() -> None:
    """Bb3 233.082 Hz: +15 cents 235.110, +60 241.301; F4 349.228: 352.267, 361.544 (by hand)."""
    sheet = position_sheet(KEY, 1, Rig())
    heard = {row.note: (round(row.low_hz, 3), round(row.high_hz, 3)) for row in sheet.curls}
    assert heard["Bb3"] == (235.110, 241.301)
    assert heard["F4"] == (352.267, 361.544)
    assert [row.degree for row in sheet.curls] == ["b3", "b7", "b3", "b7", "b3"]


@pytest.mark.parametrize(
    ("fault", "error", "sentence"),
    [
        ({"scale_m": 0.3}, RigError, "a scale length of 300 mm is out of range: give 400 to 950 mm"),
        ({"a4_hz": 0.0}, RigError, "A4 at 0 Hz is out of range: give 400 to 480 Hz"),
        ({"a4_hz": -440.0}, RigError, "A4 at -440 Hz"),
        ({"a4_hz": float("nan")}, RigError, "A4 at nan Hz"),
        ({"strings": parse_string_set("0.010 0.013")}, StringSetError, "2 gauges do not match a tuning of 6 strings"),
        ({"scale_m": 0.9}, StringSetError, r"string 1 \(0.010\) would break before it reaches its pitch"),
    ],
)
def test_a_guitar_that_cannot_be(fault: dict, error: type[ValueError], sentence: str) -> None:
    with pytest.raises(error, match=sentence):
        Rig(**fault)


@pytest.mark.parametrize(
    ("cents", "height"),
    [
        (0, "too_low"),
        (7.9, "too_low"),
        (8, "near_below"),
        (15, "inside"),
        (60, "inside"),
        (60.1, "near_above"),
        (75, "near_above"),
        (75.1, "too_high"),
    ],
)
def test_where_a_curl_ends_in_the_zone(cents: float, height: str) -> None:
    assert BlueZone().height(cents) == height


@pytest.mark.parametrize("edges", [(0, 15, 60, 75), (8, 60, 60, 75), (8, 15, 60, 100), (16, 15, 60, 75)])
def test_edges_that_are_no_zone(edges: tuple[float, ...]) -> None:
    with pytest.raises(ZoneError, match="must rise from above 0 to below 100 cents"):
        BlueZone(*edges)


def test_the_judge_and_the_map_mean_the_same_zone() -> None:
    zone, bands = BlueZone(), Bands()
    assert (zone.least_cents, zone.low_cents) == (bands.curl_least_cents, bands.zone_low_cents)
    assert (zone.high_cents, zone.near_cents) == (bands.zone_high_cents, bands.zone_near_cents)


def test_the_cautions_say_what_they_are_not() -> None:
    text = " ".join(CAUTIONS)
    for word in ("Warm up", "Stop at pain", "Rest", "skipped", "no medical advice"):
        assert word in text


def test_the_default_set_is_the_light_one() -> None:
    assert Rig().strings == parse_string_set(LIGHT_SET)
