"""Passes against a lick as Lick and Round take them: what is shown between two passes, and what a pass is worth."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_verdict

from pedal.licks.forms import asked
from pedal.licks.heard import heard_note
from pedal.licks.lick import Lick, LickNote
from pedal.modes.lick_try import LOST, OTHER, LickTry, PlayedPass, outcome_of
from pedal.modes.state import PedalState
from pedal.theory.scale import parse_key

KEY = parse_key("G minor pentatonic")
NAMES = ("G3", "Bb3", "C4", "D4", "F4")
LICK = Lick(tuple(LickNote(midi, 0.5) for midi in (55, 58, 60, 62, 65)), KEY, name="old gate")
STATE = PedalState(key=KEY)


def a_try() -> LickTry:
    return LickTry(1, LICK, asked(LICK, "as_played"))


def heard(lick: LickTry, *names: str, at_s: float) -> list[PlayedPass]:
    """Plain notes in turn; the passes that they ended."""
    over = []
    for place, name in enumerate(names):
        begin_s = at_s + 0.4 * place
        verdict = a_verdict(
            onset_s=begin_s, end_s=begin_s + 0.3, rest_note=name, kind="steady", shape="level", verdict="unclear",
            target_note=None, target_degree=None, bend_cents=0.0, error_cents=None, ending="cut",
        )  # fmt: skip
        note = heard_note(verdict)
        assert note is not None
        over.append(lick.hear(note, verdict, STATE))
    return [one for one in over if one is not None]


def test_a_pass_stays_until_a_second_note_of_the_next_one() -> None:
    lick = a_try()
    heard(lick, *NAMES, at_s=1.0)
    assert lick.whole and lick.shown is not None and lick.shown.right == 5
    (over,) = heard(lick, "G3", at_s=3.1)
    assert lick.shown == over.marked and not lick.whole
    heard(lick, "Bb3", at_s=3.5)
    assert lick.shown is None


def test_a_pass_that_was_broken_off_is_not_shown_once_several_notes_are_another_ones() -> None:
    lick = a_try()
    heard(lick, *NAMES[:3], at_s=1.0)
    for place, name in enumerate(NAMES):
        over = heard(lick, name, at_s=2.6 + 0.4 * place)
        if over:
            break
    assert over and len(over[0].verdicts) == 3 + place, "told once the note that makes it certain is heard"
    assert lick.playing and lick.shown is None


def test_while_a_pass_goes_on_none_is_shown() -> None:
    lick = a_try()
    heard(lick, "G3", at_s=1.0)
    assert lick.shown is None and lick.playing


def test_what_was_told_goes_with_the_first_note_after_it() -> None:
    lick = a_try()
    heard(lick, "E3", "A3", "B3", "E4", "C#4", at_s=1.0)
    over = lick.pass_time(20.0, STATE, sounding=False)
    assert over is not None and not over.marked.known
    assert (lick.told, lick.shown) == (OTHER, None)
    heard(lick, "G3", at_s=21.0)
    assert lick.told == ""
    lick.told = "in the middle"
    heard(lick, "Bb3", at_s=21.4)
    assert lick.told == "in the middle", "later notes take nothing away"


def test_without_a_lick_nothing_is_heard() -> None:
    lick = LickTry(0, None, told="none kept")
    assert heard(lick, *NAMES, at_s=1.0) == []
    assert lick.pass_time(9.0, STATE, sounding=False) is None
    assert (lick.playing, lick.told) == (False, "none kept")


@pytest.mark.parametrize(("played", "lost"), [(0, False), (1, True), (4, True), (5, False)])
def test_a_hole_in_the_sound_spoils_a_pass_that_goes_on_and_no_other(played: int, lost: bool) -> None:
    lick = a_try()
    heard(lick, *NAMES[:played], at_s=1.0)
    lick.lose()
    assert (lick.told == LOST) is lost
    assert lick.playing is (played == 5)


@pytest.mark.parametrize(
    ("right", "of", "outcome"),
    [
        (5, 5, "true"),
        (4, 5, "near"),
        (3, 5, "missed"),
        (3, 4, "near"),
        (0, 2, "missed"),
        (1, 2, "near"),
        (2, 2, "true"),
    ],
)
def test_what_a_pass_is_worth(right: int, of: int, outcome: str) -> None:
    lick = a_try()
    heard(lick, *NAMES, at_s=1.0)
    over = lick.leave(STATE)
    assert over is not None
    assert outcome_of(replace(over.marked, right=right, of=of)) == outcome
