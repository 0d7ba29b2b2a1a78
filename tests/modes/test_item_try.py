"""A judged note held against one thing that a Round asks for: what is a try, what is right, shown and logged."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_curl, a_verdict

from pedal.modes.item_try import hold_against
from pedal.modes.state import PedalState
from pedal.practice.item import Item
from pedal.verdicts.verdict import Verdict

STATE = PedalState(mode="round", position=2)
PLAIN = Item("plain", 3, 5, 60, 60, "C4", "C4", wanted=1)
CURL = Item("curl", 3, 3, 58, 58, "Bb3", "Bb3")
BEND = Item("bend", 3, 5, 60, 62, "C4", "D4")
HALF = Item("half", 3, 5, 60, 62, "C4", "D4")
PREBEND = Item("prebend", 3, 5, 60, 62, "C4", "D4")
LEVEL = a_verdict(kind="steady", verdict="unclear", target_note=None, error_cents=None)
AHEAD = a_verdict(kind="prebend", rest_note=None)


def other(verdict: Verdict, **changes: object) -> Verdict:
    return replace(verdict, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("item", "verdict", "outcome"),
    [
        pytest.param(PLAIN, LEVEL, "true", id="a fretted note that was asked for"),
        pytest.param(PLAIN, other(LEVEL, rest_note="D4"), "missed", id="one above"),
        pytest.param(PLAIN, other(LEVEL, rest_note="Bb3"), "missed", id="one below"),
        pytest.param(PLAIN, other(LEVEL, rest_note=None), None, id="one that has no pitch"),
        pytest.param(PLAIN, a_curl(rest_note="C4"), "true", id="a nudge of it is none of our business"),
        pytest.param(PLAIN, a_verdict(), None, id="a bend in place of a fretted note"),
        pytest.param(CURL, a_curl(), "true", id="a curl"),
        pytest.param(CURL, a_curl(verdict="near"), "near", id="a curl that is near"),
        pytest.param(CURL, a_curl(verdict="released"), "missed", id="a curl that was released"),
        pytest.param(CURL, a_curl(verdict="unclear"), None, id="a curl that could not be judged"),
        pytest.param(CURL, a_curl(rest_note="F4"), None, id="a curl on another note"),
        pytest.param(CURL, a_verdict(rest_note="Bb3"), None, id="a bend where a curl was asked for"),
        pytest.param(CURL, LEVEL, None, id="a plain note where a curl was asked for"),
        *(pytest.param(item, a_verdict(), "true", id=f"a {item.part}") for item in (BEND, HALF)),
        pytest.param(BEND, a_verdict(kind="bend_release", verdict="near"), "near", id="a bend and release"),
        pytest.param(BEND, a_verdict(verdict="flat"), "missed", id="a flat bend"),
        pytest.param(BEND, a_verdict(verdict="unclear"), None, id="a bend that could not be judged"),
        pytest.param(BEND, a_verdict(target_note="F4"), None, id="a bend to another note"),
        pytest.param(BEND, a_verdict(rest_note="A3"), None, id="a bend from another note"),
        pytest.param(BEND, AHEAD, None, id="a pre-bend where a bend was asked for"),
        pytest.param(PREBEND, AHEAD, "true", id="a pre-bend"),
        pytest.param(PREBEND, other(AHEAD, kind="prebend_release", rest_note="C4"), "true", id="a pre-bend released"),
        pytest.param(PREBEND, a_verdict(), None, id="a bend where a pre-bend was asked for"),
    ],
)
def test_what_a_note_was_for_what_was_asked(item: Item, verdict: Verdict, outcome: str | None) -> None:
    held = hold_against(item, verdict, STATE)
    assert held.outcome == outcome
    fretted = item.part == "plain"
    assert (held.entry is not None) == (outcome is not None and not fretted), (
        "every try of a bend is logged, and no more"
    )
    if held.entry is not None:
        assert (held.entry.mode, held.entry.position, held.entry.string, held.entry.fret) == ("round", 2, 3, item.fret)
        assert held.entry.verdict is verdict


@pytest.mark.parametrize(
    ("item", "verdict", "word"),
    [
        (PLAIN, LEVEL, None),
        (PLAIN, other(LEVEL, rest_note="D4"), "OTHER"),
        (BEND, LEVEL, None),
        (BEND, a_verdict(verdict="flat"), "FLAT"),
        (BEND, a_verdict(rest_note="A3"), "OTHER"),
        (CURL, a_curl(verdict="unclear"), "UNCLEAR"),
        (CURL, a_verdict(rest_note="Bb3"), "OTHER"),
        (CURL, a_curl(rest_note="F4"), "OTHER"),
        (CURL, a_verdict(kind="slide", verdict="unclear"), "SLIDE"),
        (BEND, AHEAD, "OTHER"),
        (PREBEND, a_verdict(), "OTHER"),
    ],
)
def test_what_is_shown_of_it(item: Item, verdict: Verdict, word: str | None) -> None:
    card = hold_against(item, verdict, STATE).card
    assert (None if card is None else card.word) == word
