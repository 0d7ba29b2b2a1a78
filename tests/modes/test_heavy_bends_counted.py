"""Which logged bends count against the ceiling of heavy ones: of what is asked for by string and fret, and of licks."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_lick import KEY

from pedal.licks.lick import Lick, LickNote
from pedal.modes.heavy_bends import HeavyBends
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.log_entry import LogEntry
from pedal.modes.state import PedalState
from tests.licks.verdicts_by_rule import verdict

LIGHT = LickNote(58, 0.5)
HEAVY = LickNote(70, 1.0, inflection="bend", target_midi=72, string=1, fret=6)
KEPT = KeptLick(5, Lick((LIGHT, LIGHT, HEAVY, LIGHT, LIGHT, HEAVY, LIGHT), KEY, name="hard road"))
STATE = PedalState(mode="round", key=KEY, licks=(KEPT,), heavy_most=10)
NOW_S = 5000.0


def counted(*, kind: str = "bend", at_s: float = NOW_S, asked: bool = True, player: str | None = None, **entry) -> int:
    heavy = HeavyBends(STATE)
    judged = verdict(kind=kind) if asked else None
    heavy.count([LogEntry(at_s, "lick", str(KEY), judged, player=player, **entry)], NOW_S)
    return heavy.load.within(NOW_S)


@pytest.mark.parametrize("note", range(1, 8))
def test_of_a_lick_the_notes_that_are_heavy_in_it_count(note: int) -> None:
    assert counted(lick="hard road", lick_note=note) == (note in (3, 6))


@pytest.mark.parametrize(("kind", "counts"), [("bend", 1), ("prebend", 1), ("curl", 0), ("steady", 0), ("slide", 0)])
def test_only_what_was_bent_counts(kind: str, counts: int) -> None:
    assert counted(kind=kind, lick="hard road", lick_note=3) == counts


def test_a_lick_that_is_not_kept_under_its_name_counts_nothing() -> None:
    assert counted(lick="another", lick_note=3) == 0


@pytest.mark.parametrize(
    ("spot", "counts"),
    [
        ({"string": 1, "fret": 6, "target_note": "C5"}, 1),
        ({"string": 1, "fret": 6, "target_note": "Bb4"}, 0),
        ({"string": 1, "fret": 6, "target_note": "A4"}, 0),
        ({"string": 1, "fret": None, "target_note": "C5"}, 0),
        ({"string": None, "fret": 6, "target_note": "C5"}, 0),
        ({"string": 1, "fret": 6, "target_note": None}, 0),
        ({"string": 7, "fret": 6, "target_note": "C5"}, 0),
    ],
)
def test_a_bend_that_was_asked_for_counts_where_the_spot_makes_it_heavy(spot: dict, counts: int) -> None:
    assert STATE.is_heavy(1, 6, 2), "else this test says nothing"
    assert counted(**spot) == counts


@pytest.mark.parametrize(("ago_s", "counts"), [(0.0, 1), (3599.9, 1), (3600.0, 0)])
def test_an_hour_counts(ago_s: float, counts: int) -> None:
    assert counted(at_s=NOW_S - ago_s, string=1, fret=6, target_note="C5") == counts


@pytest.mark.parametrize(("player", "counts"), [(None, 1), ("", 1), ("Ann", 0)])
def test_each_player_has_heavy_bends_of_their_own(player: str | None, counts: int) -> None:
    assert counted(player=player, string=1, fret=6, target_note="C5") == counts


def test_a_player_whose_name_was_written_otherwise_is_the_same() -> None:
    """The log of before the settings had the name in capitals: the hand has bent what it has bent."""
    heavy = HeavyBends(replace(STATE, player="Ann"))
    bent = LogEntry(NOW_S, "ladder", str(KEY), verdict(kind="bend"), None, 1, 6, "C5")
    heavy.count([replace(bent, player="ann"), replace(bent, player="Bo")], NOW_S)
    assert heavy.load.within(NOW_S) == 1


def test_what_was_skipped_strains_nobody() -> None:
    assert counted(asked=False, string=1, fret=6, target_note="C5") == 0


@pytest.mark.parametrize(("tuning", "counts"), [("E2 A2 D3 G3 B3 E4", 0), ("Eb2 Ab2 Db3 Gb3 Bb3 Eb4", 1)])
def test_how_far_a_bend_went_is_told_by_the_tuning_it_was_played_in(tuning: str, counts: int) -> None:
    """Fret 6 of string 1 to B4 is one semitone in standard, two half a step down."""
    assert [STATE.is_heavy(1, 6, rise) for rise in (1, 2)] == [False, True], "else this test says nothing"
    assert counted(string=1, fret=6, target_note="B4", tuning=tuning) == counts
