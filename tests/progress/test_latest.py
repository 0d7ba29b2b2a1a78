"""What is is said before what was, and of one player at a time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedal.progress.advice import advise
from pedal.progress.latest import advise_each
from pedal.progress.logged_note import LoggedNote
from tests.progress.invented_month import CLEAN, SESSIONS, Habit, notes
from tests.progress.tries_at_hand import tries_of

# Written out, and not taken from the code, so that a change of it is seen.
LATEST = 5


def month(habits: dict[str, Habit], *, seed: int = 1, sessions: range = range(1, SESSIONS + 1)) -> list[LoggedNote]:
    return [note for note in notes(CLEAN | habits, seed=seed) if note.session in sessions]


def test_what_was_mended_is_not_said_and_what_is_new_comes_first() -> None:
    before = range(1, SESSIONS - LATEST + 1)
    old = month({"b7→1": Habit(bias=-35.0)}, sessions=before)
    new = month({"4→5": Habit(bias=-14.0)}, sessions=range(SESSIONS - LATEST + 1, SESSIONS + 1))
    said = advise_each(tries_of(old + new), [""] * SESSIONS)
    assert said[0].target == "4→5"
    assert said[0].sentence.startswith("In the last 5 sessions your bends 4→5 stop 1")
    assert not any(one.target == "b7→1" and one.rule == "leaning" for one in said)


def test_a_target_that_the_last_sessions_left_out_is_still_spoken_of() -> None:
    late = range(SESSIONS - LATEST + 1, SESSIONS + 1)
    kept = [n for n in month({"b7→1": Habit(bias=-35.0)}) if n.session not in late or n.target != "b7→1"]
    (only,) = advise_each(tries_of(kept), [""] * SESSIONS)
    assert only.sentence.startswith("Your bends ♭7→1 stop 3")


def test_two_players_are_advised_apart_and_by_name() -> None:
    """Ann is flat, Ben sharp: what both together are is nobody's habit."""
    ann = month({"b7→1": Habit(bias=-25.0)}, seed=1, sessions=range(1, 5))
    ben = [replace(n, session=n.session + 4) for n in month({"b7→1": Habit(bias=25.0)}, seed=2, sessions=range(1, 5))]
    said = advise_each(tries_of(ann + ben), ["Ann", "ann ", "Ann", "ANN", *["Ben"] * 4])
    assert [(one.player, one.target) for one in said] == [("Ben", "b7→1"), ("ANN", "b7→1")]
    assert said[0].sentence.startswith("Ben: your bends ♭7→1 go 2")
    assert said[1].sentence.startswith("ANN: your bends ♭7→1 stop 2")
    pooled = {one.sentence.partition("(")[0] for one in advise(tries_of(ann + ben))}
    assert not pooled & {one.sentence.partition("(")[0].partition(": ")[2].capitalize() for one in said}


def test_one_player_whose_name_is_spelled_in_two_ways_is_one() -> None:
    ann = month({"b7→1": Habit(bias=-25.0)}, sessions=range(1, 3))
    assert advise_each(tries_of(ann), ["Ann", "ann"])[0].sentence.startswith("Your bends")


def test_each_is_advised_on_their_own_session_and_no_other() -> None:
    ann = [replace(n, session=1) for n in month({"b7→1": Habit(bias=-25.0)}, sessions=range(1, 4))]
    ben = [replace(n, session=2) for n in month({"b7→1": Habit(bias=25.0)}, sessions=range(1, 4))]
    said = advise_each(tries_of(ann + ben), ["Ann", "Ben"])
    assert [(one.player, one.fault[0]) for one in said if one.rule == "leaning"] == [("Ben", "+"), ("Ann", "−")]


@pytest.mark.parametrize(("sessions", "begins"), [(5, "Your bends"), (6, "In the last 5 sessions your bends")])
def test_of_no_more_than_five_sessions_nothing_is_called_the_last_ones(sessions: int, begins: str) -> None:
    few = month({"b7→1": Habit(bias=-25.0)}, sessions=range(1, sessions + 1))
    assert advise_each(tries_of(few), [""] * sessions)[0].sentence.startswith(begins)


def test_all_of_few_sessions_makes_three_sentences_at_most() -> None:
    many = month(
        {target: Habit(bias=-25.0) for target in ("b7→1", "1→b3", "b3→4", "4→5", "5→b7")}, sessions=range(1, 4)
    )
    assert len(advise_each(tries_of(many), [""] * 3)) == 3
