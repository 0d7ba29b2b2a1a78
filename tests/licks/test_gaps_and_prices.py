"""Gaps beside the model, the caret, the price of a way through, and a tempo that is told whenever the pass begins."""

from __future__ import annotations

from dataclasses import replace

import pytest
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, lick_of, played, sounded  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.lick import Lick, LickNote
from pedal.licks.marks import MarkedPass, mark_pass
from pedal.licks.match import match
from pedal.verdicts.aim import Bands

ROW = (G3, Bb3, C4, D4, F4, G3)


def marked(lick: Lick, heard: list) -> MarkedPass:
    return mark_pass(asked(lick, "as_played"), heard, question="as_played", key=KEY, bands=Bands())


@pytest.mark.parametrize("percent", [-40.0, 10.0, 50.0])
@pytest.mark.parametrize("begun_s", [0.0, 90.0])
@pytest.mark.parametrize("tempo", [0.6, 1.0, 1.7])
def test_a_note_that_comes_late_lengthens_the_gap_before_it_and_shortens_the_next(percent, begun_s, tempo) -> None:
    lick = lick_of(*ROW)
    heard = played(lick, tempo=tempo, at_s=begun_s)
    late_s = percent / 100.0 * 0.5 * lick.beat_s / tempo
    heard[3] = replace(heard[3], onset_s=heard[3].onset_s + late_s)
    found = marked(lick, heard)
    assert found.tempo_percent == pytest.approx(100.0 * tempo)
    assert [mark.gap_percent for mark in found.marks] == [
        None, *(pytest.approx(gap, abs=1e-6) for gap in (0.0, 0.0, percent, -percent, 0.0)),
    ]  # fmt: skip


def test_of_two_notes_in_one_bend_the_second_has_no_gap_of_its_own() -> None:
    bend = LickNote(Bb3, 1.0, 0.0, "bend", C4)
    found = marked(lick_of(G3, Bb3, C4, D4), played(Lick((LickNote(G3, 0.5), bend, LickNote(D4, 0.5)), KEY)))
    assert [mark.gap_percent is None for mark in found.marks] == [True, False, True, False]


def test_an_added_bend_is_named_by_its_fret() -> None:
    heard = played(lick_of(*ROW))
    extra = sounded(LickNote(C4, 1.0, 0.0, "bend", D4), heard[4].onset_s - 0.1, 0.05)
    found = marked(lick_of(*ROW), [*heard[:4], replace(extra, midi=63, target_midi=66), *heard[4:]])
    assert found.line == "6 of 6, Eb4 was added"


def test_of_faults_that_weigh_alike_the_caret_is_under_the_first() -> None:
    heard = played(lick_of(*ROW))
    for place in (2, 4):
        heard[place] = replace(heard[place], midi=64)
    assert marked(lick_of(*ROW), heard).caret == 2


@pytest.mark.parametrize("place", range(1, 6))
def test_a_sound_without_a_pitch_is_added_for_less_than_a_note(place: int) -> None:
    heard = played(lick_of(*ROW))
    vague = replace(heard[place], midi=None, kind="unclear", onset_s=heard[place].onset_s - 0.1)
    heard.insert(place, vague)
    found = match(asked(lick_of(*ROW), "as_played"), heard)
    assert found.price == pytest.approx(0.3)
    assert [p.heard for p in found.pairings if not p.asked] == [(place,)]


@pytest.mark.parametrize(
    ("heard", "price"),
    [
        ({"midi": C4 + 12}, 0.6), ({"midi": C4 - 24}, 0.6), ({"midi": C4 + 1}, 0.91), ({"midi": C4 + 11}, 1.01),
        ({"midi": C4 + 20}, 1.02), ({"midi": None, "kind": "unclear"}, 0.45),
        ({"kind": "bend", "target_midi": D4}, 0.2), ({"midi": Bb3, "kind": "bend", "target_midi": C4}, 0.3),
        ({"midi": Bb3, "kind": "bend_release", "target_midi": C4}, 0.4), ({"midi": C4, "kind": "curl"}, 0.0),
    ],
)  # fmt: skip
def test_a_note_costs_as_much_as_it_differs(heard: dict, price: float) -> None:
    lick = lick_of(*ROW)
    notes = played(lick)
    notes[2] = replace(notes[2], **heard)
    assert match(asked(lick, "as_played"), notes).price == pytest.approx(price)


def test_a_note_left_out_and_one_added_cost_the_same() -> None:
    lick, heard = lick_of(*ROW), played(lick_of(*ROW))
    assert match(asked(lick, "as_played"), heard[:-1]).price == pytest.approx(0.7)
    assert match(asked(lick_of(*ROW[:-1]), "as_played"), heard).price == pytest.approx(0.7)


def test_with_nothing_heard_all_was_left_out() -> None:
    found = match(asked(lick_of(*ROW), "as_played"), ())
    assert [pairing.asked for pairing in found.pairings] == [(n,) for n in range(6)]


@pytest.mark.parametrize("gone", ["first", "last", "first added", "last added"])
@pytest.mark.parametrize("tempo", [0.6, 1.0, 1.6])
def test_of_equal_notes_the_one_at_an_end_is_found_by_the_line_through_the_others(gone: str, tempo: float) -> None:
    """Equal notes whose lengths alone tell which is which."""
    beats = (1.0, 0.5, 1.5, 0.25, 0.75, 1.25)
    lick = Lick(tuple(LickNote(C4, beat) for beat in beats), KEY)
    heard = played(lick, tempo=tempo, at_s=3.0)
    wanted = ["plain"] * 6
    if gone in ("first", "last"):
        at = 0 if gone == "first" else 5
        del heard[at]
        wanted[at] = "left_out"
    elif gone == "first added":
        heard.insert(0, replace(heard[0], onset_s=2.6, end_s=2.9))
        wanted.insert(0, "added")
    else:
        heard.append(replace(heard[-1], onset_s=heard[-1].end_s + 0.1, end_s=heard[-1].end_s + 0.4))
        wanted.append("added")
    assert [mark.mark for mark in marked(lick, heard).marks] == wanted


@pytest.mark.parametrize(
    ("beats", "tempo", "gone"),
    [
        pytest.param((0.75, 1.5, 1.5, 0.25), 1.9, (1,), id="both ends were played: a line through both"),
        pytest.param(
            (1.25, 0.5, 0.75, 1.25, 0.5), 0.5, (0, 3), id="the first one was left out: a line from the second"
        ),
        pytest.param((1.0, 1.25, 0.5, 1.0, 1.25), 0.7, (0, 3), id="the same, another tempo"),
    ],
)
def test_of_equal_notes_left_out_in_the_middle_the_line_through_the_ends_tells_which(
    beats: tuple[float, ...], tempo: float, gone: tuple[int, ...]
) -> None:
    lick = Lick(tuple(LickNote(C4, beat) for beat in beats), KEY)
    heard = [note for at, note in enumerate(played(lick, tempo=tempo, at_s=3.0)) if at not in gone]
    wanted = ["left_out" if at in gone else "plain" for at in range(len(beats))]
    assert [mark.mark for mark in marked(lick, heard).marks] == wanted


def test_of_equal_notes_with_one_added_at_each_end_the_line_begins_at_the_second() -> None:
    lick = Lick(tuple(LickNote(C4, beat) for beat in (0.25, 0.25, 0.5, 1.25, 1.25)), KEY)
    heard = played(lick, tempo=0.5, at_s=3.0)
    early = replace(heard[0], onset_s=2.493, end_s=2.8)
    late = replace(heard[-1], onset_s=6.333, end_s=6.6)
    found = [mark.mark for mark in marked(lick, [early, *heard, late]).marks]
    assert found == ["added", *["plain"] * 5, "added"]
