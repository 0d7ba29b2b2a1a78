"""Every inflection against everything that can be heard of it: the mark, and whether it was right."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, played, sounded  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.heard import HeardNote
from pedal.licks.lick import Lick, LickEnding, LickError, LickNote, spots_of
from pedal.licks.marks import mark_pass
from pedal.licks.text import write_lick
from pedal.theory.neck import Neck
from pedal.verdicts.aim import Bands

# docs/licks.md and the sentences say these; they are not taken from the code, so that a change of it is seen.
FEWEST, MOST, LONGEST_S, MOST_BEATS, SLOWEST_BPM, FASTEST_BPM = 2, 24, 15.0, 64.0, 20.0, 400.0
LOWEST_MIDI, HIGHEST_MIDI = 23, 100
CURL_LEAST_CENTS, CURL_MOST_CENTS, OFF_MOST_CENTS, NUDGED_CENTS, LATE_PERCENT = 8.0, 99.0, 99.0, 20.0, 25.0

WANTED = {
    "plain": LickNote(C4, 1.0),
    "curl": LickNote(Bb3, 1.0, 0.0, "curl", None, 35.0),
    "curl released": LickNote(Bb3, 1.0, 0.0, "curl", None, 35.0, "release"),
    "curl left to ring": LickNote(Bb3, 1.0, 0.0, "curl", None, 35.0, "ring"),
    "bend": LickNote(C4, 1.0, 0.0, "bend", D4),
    "prebend": LickNote(C4, 1.0, 0.0, "prebend", D4),
}


def mark_of(wanted: str, **heard) -> tuple[str, bool, str]:
    """The second of four notes, heard as asked for but for what is given."""
    note = WANTED[wanted]
    lick = Lick((LickNote(G3, 1.0), note, LickNote(F4, 1.0), LickNote(G3, 1.0)), KEY)
    notes: list[HeardNote] = played(lick)
    notes[1] = replace(notes[1], **heard)
    found = mark_pass(asked(lick, "as_played", None), notes, question="as_played", key=KEY, bands=Bands())
    assert [mark.mark for mark in found.marks if mark.number != 1] == ["plain"] * 3
    mark = found.marks[1]
    return mark.mark, mark.right, mark.words


def test_what_is_heard_as_it_was_asked_for_is_right() -> None:
    marks = {"plain": "plain", "bend": "bent", "prebend": "bent", "curl released": "curl_released"}
    for wanted in WANTED:
        assert mark_of(wanted)[:2] == (marks.get(wanted, "curl_cut"), True), wanted


@pytest.mark.parametrize(
    ("wanted", "heard", "mark"),
    [
        ("plain", {"kind": "unclear", "bend_cents": NUDGED_CENTS - 0.1}, ("plain", True, "")),
        ("plain", {"kind": "unclear", "bend_cents": NUDGED_CENTS}, ("missed", False, "crept up 20")),
        ("plain", {"kind": "slide", "bend_cents": 90.0}, ("plain", True, "")),
        ("plain", {"kind": "hammer_on"}, ("plain", True, "")),
        ("plain", {"kind": "curl", "word": "released", "bend_cents": 30.0}, ("curl_released", False, "crept up 30")),
        ("plain", {"kind": "curl", "word": "sharp", "bend_cents": 80.0}, ("curl_cut", False, "crept up 80")),
        ("plain", {"kind": "bend", "word": "near", "target_midi": D4}, ("near", False, "was bent")),
        ("plain", {"kind": "bend", "word": "true", "target_midi": D4}, ("bent", False, "was bent")),
        ("plain", {"kind": "bend", "word": "flat", "target_midi": D4}, ("missed", False, "was bent")),
        ("curl", {"word": "released", "ending": "released"}, ("curl_released", False, "came down")),
        ("curl", {"word": "near", "ending": "rang_out"}, ("near", False, "rang on")),
        ("curl", {"word": "near", "bend_cents": 11.6}, ("near", False, "was at 12")),
        ("curl", {"word": "flat", "bend_cents": 5.4}, ("missed", False, "was at 5")),
        ("curl", {"kind": "steady", "bend_cents": NUDGED_CENTS - 0.1}, ("missed", False, "stayed plain")),
        ("curl", {"kind": "unclear", "bend_cents": NUDGED_CENTS}, ("missed", False, "was bent too far")),
        ("curl", {"kind": "bend", "word": "true", "target_midi": C4}, ("missed", False, "was bent too far")),
        ("curl left to ring", {"word": "near", "ending": "rang_out"}, ("curl_cut", True, "")),
        ("curl left to ring", {"word": "near", "bend_cents": 12.0}, ("near", False, "was at 12")),
        ("curl released", {"word": "true", "ending": "cut_sharp"}, ("curl_cut", True, "")),
        ("bend", {"word": "near", "error_cents": -12.4}, ("near", False, "was 12 flat")),
        ("bend", {"word": "sharp", "error_cents": 31.0}, ("missed", False, "was 31 sharp")),
        ("bend", {"kind": "prebend"}, ("missed", False, "was bent before the pluck")),
        ("bend", {"kind": "prebend_release"}, ("missed", False, "was bent before the pluck")),
        ("bend", {"kind": "bend_release"}, ("bent", True, "")),
        ("bend", {"kind": "steady", "target_midi": None}, ("missed", False, "stayed plain")),
        ("bend", {"kind": "curl", "target_midi": None, "bend_cents": 60.0}, ("missed", False, "was only curled")),
        ("bend", {"target_midi": F4}, ("missed", False, "went to another note")),
        ("prebend", {"word": "near", "error_cents": 12.0}, ("near", False, "was 12 sharp")),
        ("prebend", {"kind": "prebend_release"}, ("bent", True, "")),
        ("prebend", {"kind": "bend"}, ("missed", False, "was bent after the pluck")),
        ("prebend", {"kind": "bend_release"}, ("missed", False, "was bent after the pluck")),
        ("prebend", {"kind": "steady", "target_midi": None}, ("missed", False, "stayed plain")),
    ],
)  # fmt: skip
def test_each_thing_heard_in_place_of_another_has_its_mark(wanted: str, heard: dict, mark: tuple) -> None:
    assert mark_of(wanted, **heard) == mark


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("off", "mark"), [(10.0, "bent"), (10.1, "near"), (25.0, "near"), (25.1, "missed")])
def test_a_prebend_that_was_held_is_true_and_near_to_the_very_edge(off: float, mark: str, sign: int) -> None:
    held = replace(sounded(LickNote(D4, 1.0), 0.0, 1.0), rest_cents=sign * off)
    lick = Lick((LickNote(G3, 1.0), WANTED["prebend"], LickNote(F4, 1.0), LickNote(G3, 1.0)), KEY)
    notes = played(lick)
    notes[1] = replace(held, onset_s=notes[1].onset_s, end_s=notes[1].end_s)
    found = mark_pass(asked(lick, "as_played", None), notes, question="as_played", key=KEY, bands=Bands()).marks[1]
    words = "" if mark == "bent" else f"was {round(off)} {'sharp' if sign > 0 else 'flat'}"
    assert (found.mark, found.right, found.words) == (mark, mark == "bent", words)


@pytest.mark.parametrize(("percent", "told"), [(LATE_PERCENT - 1, ""), (LATE_PERCENT + 1, ", F4 came late")])
def test_a_gap_is_told_where_it_is_a_quarter_off(percent: float, told: str) -> None:
    lick = Lick(tuple(LickNote(m, 1.0) for m in (G3, Bb3, C4, D4, F4)), KEY)
    notes = played(lick)
    gap_s = notes[4].onset_s - notes[3].onset_s
    notes[4] = replace(notes[4], onset_s=notes[4].onset_s + gap_s * percent / 100, end_s=notes[4].end_s + 1.0)
    found = mark_pass(asked(lick, "as_played", None), notes, question="as_played", key=KEY, bands=Bands())
    assert found.line == f"5 of 5{told}"


A_NOTE = LickNote(C4, 1.0)
A_CURL, A_BEND = WANTED["curl"], WANTED["bend"]


@pytest.mark.parametrize(
    ("note", "field", "within", "beyond"),
    [
        (A_NOTE, "midi", (LOWEST_MIDI, HIGHEST_MIDI), (LOWEST_MIDI - 1, HIGHEST_MIDI + 1)),
        (A_NOTE, "beats", (0.001, MOST_BEATS), (0.0, MOST_BEATS + 0.001)),
        (A_NOTE, "rest_beats", (0.0, MOST_BEATS), (-0.001, MOST_BEATS + 0.001)),
        (A_CURL, "cents", (CURL_LEAST_CENTS, CURL_MOST_CENTS), (CURL_LEAST_CENTS - 0.1, CURL_MOST_CENTS + 0.1)),
        (A_BEND, "cents", (-OFF_MOST_CENTS, OFF_MOST_CENTS), (-OFF_MOST_CENTS - 0.1, OFF_MOST_CENTS + 0.1)),
        (A_BEND, "target_midi", (C4 + 1, C4 + 5), (C4, C4 + 6, C4 - 1, None)),
        (A_NOTE, "target_midi", (None,), (D4,)),
        (A_NOTE, "cents", (0.0,), (0.1, -0.1)),
    ],
)
def test_a_note_that_can_be_played_ends_where_it_is_said_to(note: LickNote, field: str, within, beyond) -> None:
    for value in within:
        assert getattr(replace(note, **{field: value}), field) == value
    for value in beyond:
        with pytest.raises(LickError):
            replace(note, **{field: value})


@pytest.mark.parametrize(("count", "fine"), [(FEWEST - 1, False), (FEWEST, True), (MOST, True), (MOST + 1, False)])
def test_a_lick_has_two_to_twenty_four_notes(count: int, fine: bool) -> None:
    notes = tuple(LickNote(C4, 0.25) for _ in range(count))
    if fine:
        assert len(Lick(notes, KEY).notes) == count
    else:
        with pytest.raises(LickError, match=f"a lick of {'1 note' if count == 1 else f'{count} notes'} is"):
            Lick(notes, KEY)


@pytest.mark.parametrize(
    ("tempo", "fine"),
    [(SLOWEST_BPM - 0.1, False), (SLOWEST_BPM, True), (FASTEST_BPM, True), (FASTEST_BPM + 0.1, False)],
)
def test_a_lick_has_a_tempo_that_can_be_played(tempo: float, fine: bool) -> None:
    notes = (A_NOTE, A_NOTE)
    if fine:
        assert Lick(notes, KEY, tempo).beat_s == 60.0 / tempo
    else:
        with pytest.raises(LickError, match="cannot be: give 20 to 400 beats a minute"):
            Lick(notes, KEY, tempo)


@pytest.mark.parametrize(("last_beats", "fine"), [(5.0, True), (5.001, False)])
def test_a_lick_lasts_fifteen_seconds_at_most_its_last_rest_not_counted(last_beats: float, fine: bool) -> None:
    notes = (LickNote(C4, 9.0, 1.0), LickNote(C4, last_beats, 9.0))
    if fine:
        assert Lick(notes, KEY, 60.0).seconds == LONGEST_S
    else:
        with pytest.raises(LickError, match=r"a lick of 15\.0 s is too long: give at most 15 s"):
            Lick(notes, KEY, 60.0)


def test_a_note_lies_from_the_capo_to_the_last_fret() -> None:
    neck = Neck(capo=2, frets=21)
    for string, open_midi in enumerate(neck.tuning.open_midi, 1):
        assert (string, 2) in spots_of(open_midi + 2, neck)
        assert (string, 21) in spots_of(open_midi + 21, neck)
        assert not any(at == string for at, _ in (*spots_of(open_midi + 1, neck), *spots_of(open_midi + 22, neck)))


@pytest.mark.parametrize("ending", get_args(LickEnding))
def test_only_what_is_not_usual_is_written(ending: LickEnding) -> None:
    lines = write_lick(Lick((replace(A_NOTE, ending=ending), replace(A_BEND, cents=-4.0)), KEY)).splitlines()
    assert [line.split() for line in lines[-2:]] == [
        ["C4", "1", *([] if ending == "cut" else [ending])], ["C4", "1", "bend", "D4", "-4"],
    ]  # fmt: skip
