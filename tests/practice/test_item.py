"""What can be asked for: at the ends of the neck, in and outside the key, with and without known strings."""

from __future__ import annotations

import pytest

from pedal.practice.item import Item, ItemName, between, item_at, item_named, items_of, lick_item
from pedal.theory.effort import Rig
from pedal.theory.neck import Neck, position
from pedal.theory.scale import parse_key
from pedal.theory.zone import BLUE_ZONE

# Written out, and not taken from the code, so that a change of it is seen.
CURL_HEIGHT_SEMITONES, UNKNOWN_N_A_SEMITONE = 0.6, 5.0

KEY, NECK = parse_key("A minor pentatonic"), Neck(capo=2, frets=21)
RIGS = {"known strings": Rig(), "unknown strings": None}


@pytest.mark.parametrize("rig", RIGS.values(), ids=RIGS)
@pytest.mark.parametrize("number", range(1, 6))
@pytest.mark.parametrize("key", ["A minor pentatonic", "Eb blues", "F# major pentatonic"])
def test_what_is_asked_for_by_its_place_is_the_positions_own_item(key: str, number: int, rig: Rig | None) -> None:
    scale, neck = parse_key(key), Neck()
    items = items_of(scale, position(scale, number, neck=neck), rig)
    assert {item.part for item in items} >= {"plain", "bend", "prebend"}
    for item in items:
        if item.part not in ("plain", "half"):  # of half steps only the light ones are offered, any may be asked for
            found = item_at(item.part, item.string, item.fret, item.semitones, key=scale, neck=neck, rig=rig)
            assert found == item
        assert item.semitones >= (1 if item.part in ("half", "bend", "prebend") else 0)
        assert item.name == (item.part, item.string, item.fret, item.target)


@pytest.mark.parametrize(
    ("string", "fret", "there"),
    [(1, 2, False), (1, 3, True), (1, 21, True), (1, 22, False), (6, 10, True), (7, 10, False)],
)
@pytest.mark.parametrize("part", ["bend", "prebend"])
def test_nothing_is_asked_for_off_the_neck_or_under_the_capo(part: str, string: int, fret: int, there: bool) -> None:
    found = item_at(part, string, fret, 1, key=KEY, neck=NECK, rig=None)
    assert (found is not None) == there
    if found is not None:
        assert found.target_midi == NECK.midi(string, fret) + 1


@pytest.mark.parametrize(("fret", "there"), [(4, False), (5, False), (7, False), (8, True), (10, False), (12, False)])
def test_curls_are_asked_for_on_the_flat_third_alone(fret: int, there: bool) -> None:
    """High E string in A minor pentatonic: C (the flat third) at 8; A at 5, D at 10, E at 12."""
    assert (item_at("curl", 1, fret, 0, key=KEY, neck=NECK, rig=Rig()) is not None) == there


def test_a_bend_too_heavy_for_the_strings_is_not_asked_for() -> None:
    light, heavy = (item_at("bend", 6, 3, semitones, key=KEY, neck=NECK, rig=Rig()) for semitones in (1, 4))
    assert light is not None
    assert heavy is None


def test_a_curl_is_weighed_at_the_upper_edge_of_the_blue_zone() -> None:
    assert pytest.approx(BLUE_ZONE.high_cents) == 100.0 * CURL_HEIGHT_SEMITONES
    unknown = item_at("curl", 1, 8, 0, key=KEY, neck=NECK, rig=None)
    known = item_at("curl", 1, 8, 0, key=KEY, neck=NECK, rig=Rig())
    half = item_at("half", 1, 8, 1, key=KEY, neck=NECK, rig=Rig())
    assert unknown is not None
    assert known is not None
    assert half is not None
    assert unknown.force_n == pytest.approx(UNKNOWN_N_A_SEMITONE * CURL_HEIGHT_SEMITONES)
    assert 0.0 < known.force_n < half.force_n


@pytest.mark.parametrize(("fret", "frets"), [(18, [20, 18, 20]), (19, [21, 19, 21]), (20, [20, 20])])
def test_between_two_heavy_bends_the_interval_is_fretted_as_far_as_the_neck_goes(fret: int, frets: list[int]) -> None:
    bend = Item("bend", 2, fret, NECK.midi(2, fret), NECK.midi(2, fret) + 2, "", "", heavy=True)
    asked = between(bend, KEY, NECK)
    assert [item.fret for item in asked] == frets
    assert [item.rest_midi for item in asked] == [NECK.midi(2, at) for at in frets]
    assert all(item.wanted == 1 and not item.heavy and item.string == 2 and item.part == "between" for item in asked)


def test_a_lick_is_remembered_by_its_number_whatever_its_name() -> None:
    lick = lick_item(7, "slow one", 60, heavy_bends=2)
    assert (lick.name, lick.heavy_bends, lick.semitones) == (ItemName("lick", 0, 7, ""), 2, 0)
    assert (lick.heavy, lick.force_n, lick.wanted) == (False, 0.0, 3)


@pytest.mark.parametrize("key", ["A minor pentatonic", "Eb minor pentatonic", "C major pentatonic"])
def test_a_name_says_what_was_asked_for_in_another_key(key: str) -> None:
    there = items_of(KEY, position(KEY, 2, neck=NECK), Rig())
    for item in there:
        found = item_named(item.name, key=parse_key(key), neck=NECK, rig=Rig())
        assert (found is None) == (item.part == "plain")
        if found is not None:
            assert (found.name, found.rest_midi, found.target_midi) == (item.name, item.rest_midi, item.target_midi)
            assert (found.force_n, found.heavy, found.support) == (item.force_n, item.heavy, item.support)


@pytest.mark.parametrize(
    "name",
    [
        ItemName("bend", 2, 10, "H4"), ItemName("bend", 2, 10, ""), ItemName("bend", 2, 10, "A4"),
        ItemName("bend", 2, 10, "G#4"), ItemName("bend", 2, 10, "F5"), ItemName("curl", 2, 10, "B4"),
        ItemName("bend", 2, 2, "D4"), ItemName("bend", 2, 22, "B5"), ItemName("bend", 7, 10, "B4"),
        ItemName("bend", 0, 10, "B4"), ItemName("lick", 0, 3, ""), ItemName("between", 2, 10, "A4"),
    ],
)  # fmt: skip
def test_a_damaged_name_says_nothing(name: ItemName) -> None:
    assert item_named(name, key=KEY, neck=NECK, rig=Rig()) is None
