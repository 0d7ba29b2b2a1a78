"""What became of each note, the caret, and the line."""

from __future__ import annotations

from dataclasses import replace

import pytest
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, lick_of, played, sounded  # type: ignore[import-not-found]
from verdicts_by_rule import verdict  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.heard import heard_note
from pedal.licks.lick import Lick, LickNote
from pedal.licks.marks import mark_pass
from pedal.licks.offers import offers, sung_form
from pedal.theory.neck import PLAIN_NECK
from pedal.verdicts.aim import Bands

CURL = LickNote(Bb3, 0.5, 0.5, "curl", None, 35.0)
BEND = LickNote(C4, 1.0, 0.0, "bend", D4)
SUNG = Lick((LickNote(G3, 0.5), CURL, BEND, LickNote(F4, 0.5), replace(CURL, cents=30.0)), KEY)


def marked(lick, heard, question="as_played", sung=None):
    return mark_pass(asked(lick, question, sung), heard, question=question, key=KEY, bands=Bands())


def with_note(place: int, **changed) -> list:
    heard = played(SUNG)
    heard[place] = replace(heard[place], **changed)
    return heard


def test_as_it_is_it_is_right() -> None:
    found = marked(SUNG, played(SUNG))
    assert [m.mark for m in found.marks] == ["plain", "curl_cut", "bent", "plain", "curl_cut"]
    assert (found.line, found.caret, found.known) == ("5 of 5", None, True)


@pytest.mark.parametrize(
    ("place", "changed", "mark", "line"),
    [
        (4, {"word": "released", "ending": "released"}, "curl_released", "4 of 5, the last curl came down"),
        (1, {"word": "near", "ending": "rang_out"}, "near", "4 of 5, the first curl rang on"),
        (1, {"word": "near", "bend_cents": 12.0}, "near", "4 of 5, the first curl was at 12"),
        (1, {"word": "sharp", "bend_cents": 85.0}, "missed", "4 of 5, the first curl was at 85"),
        (1, {"kind": "steady", "bend_cents": 0.0}, "missed", "4 of 5, the first curl stayed plain"),
        (2, {"word": "near", "error_cents": -18.0}, "near", "4 of 5, the bend was 18 flat"),
        (2, {"word": "flat", "error_cents": -30.0}, "missed", "4 of 5, the bend was 30 flat"),
        (2, {"kind": "steady", "target_midi": None}, "missed", "4 of 5, the bend stayed plain"),
        (2, {"target_midi": F4}, "missed", "4 of 5, the bend went to another note"),
        (2, {"kind": "prebend"}, "missed", "4 of 5, the bend was bent before the pluck"),
        (3, {"midi": 64}, "missed", "4 of 5, F4 was another note"),
        (3, {"midi": F4 + 12}, "missed", "4 of 5, F4 was another note"),
        (3, {"midi": None, "kind": "unclear"}, "missed", "4 of 5, F4 was not heard clearly"),
        (3, {"kind": "curl", "word": "true", "bend_cents": 28.0}, "curl_cut", "4 of 5, F4 crept up 28"),
    ],
)
def test_each_fault_has_its_mark_and_its_words(place, changed, mark, line) -> None:
    found = marked(SUNG, with_note(place, **changed))
    assert (found.marks[place].mark, found.marks[place].right, found.line) == (mark, False, line)
    assert found.caret == place
    assert all(one.right for other, one in enumerate(found.marks) if other != place)


HALF_STEP = LickNote(Bb3, 1.0, 0.0, "bend", Bb3 + 1)


@pytest.mark.parametrize("question", ["as_played", "sung"])
@pytest.mark.parametrize(
    ("cents", "word", "ending", "mark", "line"),
    [
        (97.0, "sharp", "cut_sharp", "bent", "3 of 3"),
        (97.0, "sharp", "rang_out", "bent", "3 of 3"),
        (97.0, "released", "released", "bent", "3 of 3"),  # as a released bend of 103 is
        (82.0, "sharp", "cut_sharp", "near", "2 of 3, the bend was 18 flat"),
    ],
)
def test_a_half_step_that_stops_short_is_a_bend_where_it_was_asked_for(question, cents, word, ending, mark, line):
    """From the flat third or seventh the judge, who knows only the key, takes it for a curl overdone."""
    lick = Lick((LickNote(G3, 1.0), HALF_STEP, LickNote(D4, 1.0)), KEY)
    told = verdict(rest_note="Bb3", kind="curl", verdict=word, bend_cents=cents, ending=ending)
    heard = played(lick)
    heard[1] = replace(heard_note(told), onset_s=heard[1].onset_s, end_s=heard[1].end_s)
    found = marked(lick, heard, question, lick)
    assert ([m.mark for m in found.marks], found.line) == (["plain", mark, "plain"], line)


@pytest.mark.parametrize(("target", "cents"), [(Bb3 + 1, 75.0), (Bb3 + 1, 35.0), (Bb3 + 2, 97.0)])
def test_a_curl_in_or_by_its_zone_or_a_whole_step_short_is_no_bend(target, cents) -> None:
    lick = Lick((LickNote(G3, 1.0), replace(HALF_STEP, target_midi=target), LickNote(D4, 1.0)), KEY)
    heard = played(lick)
    heard[1] = replace(heard[1], kind="curl", word="near", target_midi=None, error_cents=None, bend_cents=cents)
    assert marked(lick, heard).line == "2 of 3, the bend was only curled"


def test_plain_finds_what_creeps_in() -> None:
    lick = Lick(tuple(LickNote(m, 0.5) for m in (G3, Bb3, C4, D4, F4)), KEY)
    heard = played(lick)
    heard[1] = replace(heard[1], kind="curl", word="true", bend_cents=22.0)
    found = marked(lick, heard, "plain")
    assert [(m.mark, m.right) for m in found.marks][1] == ("curl_cut", False)
    assert found.line == "4 of 5, Bb3 crept up 22"


def test_plain_asks_for_the_notes_that_a_bend_goes_through() -> None:
    found = marked(SUNG, played(lick_of(G3, Bb3, C4, D4, F4, Bb3)), "plain")
    assert found.line.startswith("6 of 6")
    found = marked(SUNG, played(SUNG), "plain")
    assert [m.right for m in found.marks] == [True, False, False, False, True, False]


def test_sung_asks_for_what_the_lick_invites_and_takes_another_inflection() -> None:
    lick = lick_of(G3, Bb3, D4, F4, beats=1.0)
    sung = sung_form(lick, offers(lick, neck=PLAIN_NECK))
    assert [note.inflection for note in sung.notes] == ["plain", "curl", "plain", "curl"]
    assert not all(m.right for m in marked(lick, played(lick), "sung", sung).marks)
    assert all(m.right for m in marked(lick, played(sung), "sung", sung).marks)
    curled = played(sung)
    bent = next(n for n, note in enumerate(sung.notes) if note.inflection == "curl")
    curled[bent] = replace(curled[bent], kind="bend", word="true", target_midi=C4, bend_cents=200.0, error_cents=0.0)
    assert marked(lick, curled, "sung", sung).marks[bent].right


@pytest.mark.parametrize(
    ("off", "mark"), [(4.0, "bent"), (-4.0, "bent"), (-18.0, "near"), (18.0, "near"), (-32.0, "missed")]
)
def test_a_held_prebend_is_judged_by_its_tuning(off: float, mark: str) -> None:
    lick = Lick((LickNote(C4, 1.0, 0.0, "prebend", D4), LickNote(C4, 1.0), LickNote(Bb3, 1.0), LickNote(G3, 1.0)), KEY)
    heard = played(lick)
    as_fretted = sounded(LickNote(D4, 1.0), 0.0, 0.6)
    heard[0] = replace(as_fretted, rest_cents=off)
    assert marked(lick, heard).marks[0].mark == mark


@pytest.mark.parametrize(("plain_notes", "beyond", "mark"), [(1, 0.0, "bent"), (1, 0.5, "near"), (2, 0.5, "bent")])
def test_a_guitar_that_lies_sharp_is_known_by_three_level_notes(plain_notes: int, beyond: float, mark: str) -> None:
    """The pre-bend, itself a level note, lies at the edge of the band of a true one, as do all notes of this guitar."""
    off = Bands().true_cents + beyond
    rows = [LickNote(C4, 1.0, 0.0, "prebend", D4)] + [LickNote(midi, 1.0) for midi in (C4, Bb3, G3)[:plain_notes]]
    lick = Lick((*rows, LickNote(Bb3, 1.0, 0.0, "bend", C4)), KEY)
    heard = [replace(note, rest_cents=off) for note in played(lick)]
    heard[0] = replace(sounded(LickNote(D4, 1.0), 0.0, 0.6), rest_cents=off)
    assert marked(lick, heard).marks[0].mark == mark


def test_a_string_struck_again_while_bent_sounds_like_the_fretted_note() -> None:
    lick = Lick((LickNote(C4, 1.0, 0.0, "bend", D4), LickNote(D4, 0.5), LickNote(G3, 0.5)), KEY)
    heard = played(lick)
    heard[1] = replace(heard[1], kind="prebend", word="true", midi=C4, target_midi=D4, error_cents=2.0)
    assert [mark.mark for mark in marked(lick, heard).marks] == ["bent", "plain", "plain"]
    assert all(mark.right for mark in marked(lick, heard).marks)


def test_beside_the_model_stand_heights_lengths_and_gaps() -> None:
    heard = with_note(2, bend_cents=192.0, error_cents=-8.0)
    late = [replace(n, onset_s=n.onset_s + 0.2, end_s=n.end_s + 0.2) if i > 3 else n for i, n in enumerate(heard)]
    found = marked(SUNG, late)
    assert found.marks[2].height_cents == pytest.approx(-8.0)
    assert found.marks[2].length_percent == pytest.approx(0.0, abs=1e-6)
    assert found.marks[4].gap_percent == pytest.approx(60.0, abs=1.0)
    assert found.marks[1].ending_same is True
    assert found.line == "5 of 5, Bb3 came late"


def test_another_lick_is_not_known() -> None:
    assert not marked(SUNG, played(lick_of(40, 45, 47, 52, 41))).known
