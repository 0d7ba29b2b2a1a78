"""Which heard note was which: one mistake never shifts the rest."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from passes_by_rule import C4, D4, F4, G3, G4, KEY, Bb3, Bb4, lick_of, played  # type: ignore[import-not-found]
from strategies import licks  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.lick import Lick, LickNote
from pedal.licks.marks import MarkedPass, mark_pass
from pedal.licks.match import match
from pedal.verdicts.aim import Bands

SCALE = [G3, Bb3, C4, D4, F4, G4, Bb4]
PLAIN = st.lists(st.sampled_from(SCALE), min_size=4, max_size=16)
TEMPI = st.sampled_from([0.5, 0.7, 1.0, 1.4, 2.0])


def marked(lick: Lick, heard: list, question: str = "as_played") -> MarkedPass:
    return mark_pass(asked(lick, question), heard, question=question, key=KEY, bands=Bands())  # type: ignore[arg-type]


@given(lick=licks(), tempo=TEMPI)
@settings(max_examples=80, deadline=None)
def test_a_pass_without_a_fault_is_right_at_any_tempo(lick: Lick, tempo: float) -> None:
    found = marked(replace(lick, key=KEY), played(lick, tempo=tempo))
    assert [mark.number for mark in found.marks] == list(range(len(lick.notes)))
    assert all(not pairing.price for pairing in match(asked(lick, "as_played"), played(lick, tempo=tempo)).pairings)


@given(row=PLAIN, tempo=TEMPI)
@settings(max_examples=60, deadline=None)
def test_the_tempo_of_a_pass_is_told(row: list[int], tempo: float) -> None:
    found = marked(lick_of(*row), played(lick_of(*row), tempo=tempo))
    assert found.tempo_percent == pytest.approx(100.0 * tempo)
    assert (found.right, found.of, found.caret) == (len(row), len(row), None)


@given(row=PLAIN, tempo=TEMPI, data=st.data())
@settings(max_examples=120, deadline=None)
def test_a_note_left_out_shifts_nothing(row: list[int], tempo: float, data: st.DataObject) -> None:
    gone = data.draw(st.integers(0, len(row) - 1))
    heard = played(lick_of(*row), tempo=tempo)
    del heard[gone]
    found = marked(lick_of(*row), heard)
    wanted = ["left_out" if n == gone else "plain" for n in range(len(row))]
    got = [mark.mark for mark in found.marks]
    assert got.count("plain") == len(row) - 1 and "missed" not in got
    alike = gone in (0, len(row) - 1) and row[gone] in (row[1 if gone == 0 else -2],)
    assert got == wanted or alike  # at an end, of two equal notes, nobody can know


@given(row=PLAIN, tempo=TEMPI, data=st.data())
@settings(max_examples=120, deadline=None)
def test_a_wrong_note_shifts_nothing(row: list[int], tempo: float, data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(row) - 1))
    wrong = data.draw(st.sampled_from([57, 59, 61, 63, 64, 66, 68, 69]))
    heard = played(lick_of(*row), tempo=tempo)
    heard[place] = replace(heard[place], midi=wrong)
    assert [mark.mark for mark in marked(lick_of(*row), heard).marks] == [
        "missed" if n == place else "plain" for n in range(len(row))
    ]


@given(row=PLAIN, tempo=TEMPI, data=st.data())
@settings(max_examples=120, deadline=None)
def test_an_added_note_shifts_nothing(row: list[int], tempo: float, data: st.DataObject) -> None:
    place = data.draw(st.integers(1, len(row) - 1))
    heard = played(lick_of(*row), tempo=tempo)
    middle = (heard[place - 1].onset_s + heard[place].onset_s) / 2
    extra = replace(heard[place], midi=data.draw(st.sampled_from(SCALE)), onset_s=middle, end_s=middle + 0.05)
    heard.insert(place, extra)
    found = marked(lick_of(*row), heard)
    assert [mark.mark for mark in found.marks] == ["plain"] * place + ["added"] + ["plain"] * (len(row) - place)


@given(row=PLAIN, tempo=TEMPI, moved_s=st.floats(0.0, 100.0), steps=st.integers(-12, 12))
@settings(max_examples=60, deadline=None)
def test_later_and_transposed_it_is_the_same(row: list[int], tempo: float, moved_s: float, steps: int) -> None:
    lick = lick_of(*row)
    heard = played(lick, tempo=tempo)
    del heard[1]
    elsewhere = [
        replace(note, midi=(note.midi or 0) + steps, onset_s=note.onset_s + moved_s, end_s=note.end_s + moved_s)
        for note in heard
    ]
    there = replace(lick, notes=tuple(replace(note, midi=note.midi + steps) for note in lick.notes))
    assert [m.mark for m in marked(lick, heard).marks] == [m.mark for m in marked(there, elsewhere).marks]


def test_which_of_equal_notes_was_left_out_time_tells() -> None:
    lick = lick_of(C4, C4, C4, C4, D4)
    heard = played(lick)
    del heard[2]
    assert [mark.mark for mark in marked(lick, heard).marks] == ["plain", "plain", "left_out", "plain", "plain"]


@pytest.mark.parametrize("gone", range(4))
def test_which_of_equal_notes_at_an_end_was_left_out_time_tells(gone: int) -> None:
    """Eighths and quarters in turn, so that only one way of laying the others beside them keeps the time."""
    lick = Lick(tuple(LickNote(C4, beats) for beats in (1.0, 0.5, 1.5, 0.5)) + (LickNote(D4, 1.0),), KEY)
    heard = played(lick)
    del heard[gone]
    marks = [mark.mark for mark in marked(lick, heard).marks]
    assert marks == ["left_out" if at == gone else "plain" for at in range(5)]


def test_a_bend_in_place_of_two_frets_takes_both() -> None:
    lick = lick_of(G3, Bb3, C4, D4)
    heard = played(Lick((LickNote(G3, 0.5), LickNote(Bb3, 1.0, 0.0, "bend", C4), LickNote(D4, 0.5)), KEY))
    found = marked(lick, heard)
    assert [(m.number, m.mark, m.right) for m in found.marks] == [
        (0, "plain", True), (1, "bent", False), (2, "bent", False), (3, "plain", True),
    ]  # fmt: skip


def test_a_bend_that_was_fretted_is_missed_and_shifts_nothing() -> None:
    lick = Lick((LickNote(G3, 0.5), LickNote(Bb3, 1.0, 0.0, "bend", C4), LickNote(D4, 0.5)), KEY)
    found = marked(lick, played(lick_of(G3, Bb3, C4, D4)))
    assert [(m.mark, m.words) for m in found.marks] == [
        ("plain", ""),
        ("missed", "was fretted, not bent"),
        ("plain", ""),
    ]


@given(lick=licks(least=4, most=10))
@settings(max_examples=40, deadline=None)
def test_while_it_is_played_the_note_reached_is_the_next_one(lick: Lick) -> None:
    assume(len({note.sounds for note in lick.notes}) == len(lick.notes))
    for played_so_far in range(1, len(lick.notes) + 1):
        found = match(asked(lick, "as_played"), played(lick)[:played_so_far], open_end=True)
        assert [p.asked for p in found.pairings] == [(n,) for n in range(played_so_far)]
