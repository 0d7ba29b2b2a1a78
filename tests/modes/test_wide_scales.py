"""Own scales with gaps that no hand bends over: every mode plays on with the bends that are left, if any."""

from __future__ import annotations

import pytest
from playing import a_bend_as_events, a_pedal, a_verdict, ended, play, press

from pedal.modes.names import MODES
from pedal.modes.screen_model import BlindScreen, LadderScreen, MessageScreen, RoundStartScreen
from pedal.theory.neck import PLAIN_NECK, Neck, parse_tuning
from pedal.theory.scale import parse_key

SEVEN = Neck(parse_tuning("seven"))
"""One string more than the set has: its bends are weighed without figures."""
WIDE = ("[1 5]", "[1 4]", "[1 b2]", "[1 b3 4]", "[1 2 3]", "[1 b5]")


@pytest.mark.parametrize("neck", [PLAIN_NECK, SEVEN])
@pytest.mark.parametrize("scale", WIDE)
def test_the_pedal_starts_and_walks_through_all_modes(scale: str, neck: Neck) -> None:
    pedal = a_pedal(key=parse_key(f"G {scale}"), neck=neck)
    seen = set()
    for _ in MODES:
        seen.add(pedal.settings.mode)
        pedal.screen()
        play(pedal, *a_bend_as_events("G3", 100.0), *ended(a_verdict()))
        press(pedal, "next_target", "skip", "previous_target", "again", "next_position")
        pedal.screen()
        press(pedal, "next_mode")
    assert seen == set(MODES)


def test_a_ladder_has_the_rungs_that_can_be_bent() -> None:
    shown = a_pedal(key=parse_key("G [1 b3 4]"), mode="ladder").screen()
    assert isinstance(shown, LadderScreen)
    assert len(shown.rungs) > 0
    assert all(rung.target_midi - rung.rest_midi <= 3 for rung in a_pedal(key=parse_key("G [1 b3 4]")).settings.rungs())
    assert isinstance(a_pedal(key=parse_key("G [1 5]"), mode="blind").screen(), BlindScreen)


@pytest.mark.parametrize(("mode", "title"), [("ladder", "NO BEND"), ("blind", "NO TARGET")])
def test_a_scale_without_any_bend_is_not_said_to_leave_the_neck(mode: str, title: str) -> None:
    assert a_pedal(key=parse_key("G [1 b5]"), mode=mode).screen() == MessageScreen(title, ("position 1", "has no bend"))


def test_a_round_without_bends_has_its_fretted_notes() -> None:
    assert isinstance(a_pedal(key=parse_key("G [1 b5]"), mode="round").screen(), RoundStartScreen)
