"""Where a lick can sing, against the rule of docs/licks.md, told here a second time and by other means."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, lick_of  # type: ignore[import-not-found]
from strategies import licks  # type: ignore[import-not-found]

from pedal.licks.lick import Lick, LickNote
from pedal.licks.offers import Offer, applied, offers, place_notes, sung_form
from pedal.theory.degree import semitones_of
from pedal.theory.effort import Rig, Thresholds
from pedal.theory.neck import TUNINGS, Neck, parse_tuning, positions
from pedal.theory.scale import SCALES, Key, parse_key

RIG = Rig()
NECK = RIG.neck


def scale_of(key: Key) -> list[int]:
    """Every note of the key, counted from the degrees alone."""
    return [m for m in range(128) if (m - key.tonic.semitone) % 12 in {semitones_of(d) for d in key.degrees}]


def assert_by_the_rule(offer: Offer, lick: Lick, neck: Neck) -> None:
    scale, note, spot = scale_of(lick.key), offer.note, offer.spot
    before = lick.notes[offer.first : offer.after]
    assert neck.capo < spot.fret <= neck.frets
    assert neck.tuning.open_midi[spot.string - 1] + spot.fret == note.midi
    assert note.midi in scale
    assert all(one.inflection == "plain" for one in before)
    if note.inflection == "curl":
        assert (note.midi - lick.key.tonic.semitone) % 12 in (3, 10)
        assert note.ending == "cut"
        return
    assert note.target_midi == scale[scale.index(note.midi) + 1], "the next scale note above"
    assert 1 <= note.target_midi - note.midi <= 4
    match offer.place:
        case "begin":
            assert (offer.first, before[0].midi) == (0, note.target_midi)
        case "end":
            assert (offer.after, note.ending, before[0].midi) == (len(lick.notes), "release", note.midi)
        case _:
            assert [one.midi for one in before] == [note.midi, note.target_midi]


@pytest.mark.parametrize("scale", [*SCALES, "[1 b3 4 b7]", "[1 b2 3 5 b7]"])
@pytest.mark.parametrize("tuning", sorted(TUNINGS))
def test_nothing_is_out_of_reach_or_off_the_key(scale: str, tuning: str) -> None:
    """Up and down every position that the neck holds: every scale, every tuning with a name."""
    key, neck = parse_key(f"A {scale}"), Neck(parse_tuning(tuning), capo=2)
    for place in positions(key, neck):
        row = [spot.midi for spot in place.spots][:12]
        for midi in (row, row[::-1]):
            lick = Lick(tuple(LickNote(m, 0.5, 0.5 * (n % 3 == 2)) for n, m in enumerate(midi)), key, 90.0, neck.tuning)
            for offer in offers(lick, neck=neck, rig=None, position_number=place.number):
                assert_by_the_rule(offer, lick, neck)


@given(lick=licks(), capo=st.integers(0, 7), tuning=st.sampled_from(sorted(TUNINGS)))
@settings(max_examples=80, deadline=None)
def test_whatever_the_lick_the_rule_holds(lick: Lick, capo: int, tuning: str) -> None:
    neck = Neck(parse_tuning(tuning), capo)
    found = offers(lick, neck=neck)
    for offer in found:
        assert_by_the_rule(offer, lick, neck)
    heavy = [offer.heavy for offer in found]
    assert heavy == sorted(heavy) and sum(heavy) <= 1
    sung_form(lick, found)


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_the_twelve_bends_of_a_position_are_all_found(number: int) -> None:
    """Up a pentatonic position every neighbour invites a bend, but those that the hand forbids."""
    place = positions(KEY, NECK)[number - 1]
    row = [spot.midi for spot in place.spots]
    lick = Lick(tuple(LickNote(m, 0.5) for m in row), KEY)
    easy = Rig(thresholds=Thresholds(firm_n=900.0, heavy_n=901.0, too_heavy_n=902.0, breaking_share=1.0))
    found = offers(lick, neck=NECK, rig=easy, position_number=number)
    assert sorted(o.first for o in found if o.place == "inside" and o.inflection == "bend") == list(range(11))


def test_a_curl_before_a_rest_comes_first() -> None:
    lick = Lick((LickNote(Bb3, 0.5), LickNote(G3, 0.5), LickNote(F4, 0.5, 0.5), LickNote(D4, 0.5)), KEY)
    found = offers(lick, neck=NECK, rig=RIG)
    assert [(o.first, o.inflection, o.place) for o in found][0] == (2, "curl", "before_rest")
    assert (0, "curl", "inside") in [(o.first, o.inflection, o.place) for o in found]


def test_the_heavy_one_is_last_and_alone() -> None:
    lick = lick_of(G3, Bb3, D4, F4, 67, 70, beats=1.0)
    heavy = Rig(thresholds=Thresholds(firm_n=0.1, heavy_n=0.2, too_heavy_n=1000.0, breaking_share=1.0))
    found = offers(lick, neck=NECK, rig=heavy)
    assert [offer.heavy for offer in found if offer.inflection != "curl"] == [True]
    assert found[-1].heavy
    again = offers(applied(lick, found[-1]), neck=NECK, rig=heavy)
    assert [(offer.first, offer.heavy) for offer in again] == [(4, False), (1, False)], "never beside another heavy one"


@pytest.mark.parametrize("tail", [(Bb3, 0.5), (G3, 1.0), (D4, 1.0), (F4, 1.0)])
def test_of_the_heavy_ones_only_the_lightest_is_offered(tail: tuple[int, float]) -> None:
    """Wherever it lies in the lick: docs/licks.md."""
    lick = Lick((LickNote(D4, 1.0), LickNote(F4, 1.0), LickNote(C4, 1.0, 0.5), LickNote(*tail)), KEY)
    every = Rig(thresholds=Thresholds(firm_n=900.0, heavy_n=901.0, too_heavy_n=902.0, breaking_share=1.0))
    forces = [offer.force_n for offer in offers(lick, neck=NECK, rig=every) if offer.inflection != "curl"]
    assert len(set(forces)) > 1, "else this test says nothing"
    heavy = Rig(thresholds=Thresholds(firm_n=0.1, heavy_n=0.2, too_heavy_n=1000.0, breaking_share=1.0))
    assert [offer.force_n for offer in offers(lick, neck=NECK, rig=heavy) if offer.heavy] == [min(forces)]


def test_what_was_crossed_off_is_not_offered() -> None:
    lick = lick_of(C4, D4, beats=1.0)
    bend = next(o for o in offers(lick, neck=NECK, rig=RIG) if o.place == "inside")
    crossed = frozenset({(bend.spot.string, bend.spot.fret, 2)})
    assert bend not in offers(lick, neck=NECK, rig=RIG, crossed_off=crossed)


@pytest.mark.parametrize(
    "lick",
    [
        Lick((LickNote(Bb3, 0.1), LickNote(G3, 1.0)), KEY),
        Lick((LickNote(Bb3, 0.5), LickNote(G3, 1.0, begun_by="pull_off")), KEY),
    ],
    ids=["too short", "pulled off from it"],
)
def test_no_curl_where_it_cannot_be_cut_off(lick: Lick) -> None:
    assert not [o for o in offers(lick, neck=NECK, rig=RIG) if o.inflection == "curl"]


@pytest.mark.parametrize(
    ("notes", "offered"),
    [
        ((LickNote(C4, 0.5), LickNote(D4, 0.2)), True),
        ((LickNote(C4, 0.5, 0.5), LickNote(D4, 0.2)), False),
        ((LickNote(D4, 0.5), LickNote(C4, 0.2)), False),
    ],
    ids=["tied and upward", "over a rest", "downward"],
)
def test_no_bend_over_a_rest_and_none_downward(notes: tuple[LickNote, ...], offered: bool) -> None:
    found = offers(Lick(notes, KEY), neck=NECK, rig=RIG)
    assert any(offer.place == "inside" for offer in found) is offered


def test_a_written_place_is_where_it_is_played() -> None:
    lick = Lick((LickNote(C4, 1.0, string=4, fret=10), LickNote(D4, 1.0)), KEY)
    assert (place_notes(lick, NECK)[0].string, place_notes(lick, NECK)[0].fret) == (4, 10)  # type: ignore[union-attr]


@given(lick=licks())
@settings(max_examples=60, deadline=None)
def test_the_sung_form_never_overlaps_and_keeps_the_time(lick: Lick) -> None:
    sung = sung_form(lick, offers(lick, neck=NECK))
    assert sum(n.beats + n.rest_beats for n in sung.notes) == pytest.approx(
        sum(n.beats + n.rest_beats for n in lick.notes)
    )
    assert [m for n in sung.notes for m in n.sounds] == [m for n in lick.notes for m in n.sounds]


def test_the_sung_form_takes_all_that_lie_apart() -> None:
    lick = Lick((LickNote(Bb3, 0.5, 1.0), LickNote(G3, 0.5), LickNote(Bb3, 0.5, 1.0), LickNote(G3, 0.5)), KEY)
    sung = sung_form(lick, offers(lick, neck=NECK))
    assert [note.inflection for note in sung.notes] == ["curl", "plain", "curl", "plain"]


def test_an_offer_changes_what_it_says_and_nothing_else() -> None:
    lick = lick_of(G3, Bb3, C4, D4, F4, beats=1.0)
    for offer in offers(lick, neck=NECK, rig=RIG):
        changed = applied(lick, offer)
        assert changed.notes[: offer.first] == lick.notes[: offer.first]
        assert changed.notes[offer.first] == offer.note
        assert changed.notes[offer.first + 1 :] == lick.notes[offer.after :]
        assert replace(changed, notes=lick.notes) == lick


@pytest.mark.parametrize(("between", "offered"), [(0, False), (1, True)])
@pytest.mark.parametrize("after", [False, True])
def test_a_heavy_bend_is_not_offered_next_to_one_and_is_behind_a_light_one(
    between: int, offered: bool, after: bool
) -> None:
    """Only the nearest bend on each side counts: what lies beyond a light one has let the hand go."""
    heavy = LickNote(Bb3, 1.0, 0.0, "bend", 61, string=4, fret=8)
    light = LickNote(74, 1.0, 0.0, "bend", 75, string=1, fret=10)
    row = [LickNote(D4, 1.0), LickNote(F4, 1.0)], [light] * between, [heavy]
    notes = [note for part in (row if after else row[::-1]) for note in part]
    lick = Lick(tuple(notes), KEY)
    rig = Rig(thresholds=Thresholds(firm_n=1.0, heavy_n=10.0, too_heavy_n=1000.0, breaking_share=1.0))
    found = [offer for offer in offers(lick, neck=NECK, rig=rig) if offer.heavy and offer.place == "inside"]
    assert bool(found) == offered
