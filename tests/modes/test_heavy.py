"""Which bends count as heavy where the strings do not fit the tuning, so that no force can be computed."""

from __future__ import annotations

import pytest

from pedal.modes.state import PedalState


@pytest.fixture
def unstrung(monkeypatch: pytest.MonkeyPatch) -> PedalState:
    monkeypatch.setattr(PedalState, "strung", lambda _: None)
    return PedalState()


@pytest.mark.parametrize(("semitones", "heavy"), [(0, False), (1, False), (2, False), (3, True), (4, True)])
def test_without_a_force_more_than_a_whole_step_counts_as_heavy(unstrung, semitones: int, heavy: bool) -> None:
    assert unstrung.is_heavy(2, 5, semitones) is heavy


@pytest.mark.parametrize(
    ("string", "fret", "semitones", "heavy"),
    [(1, 6, 2, True), (1, 6, 0, False), (1, 6, 99, False), (1, 0, 2, False), (1, 99, 2, False), (7, 6, 2, False)],
    ids=["a bend", "no bend", "beyond all fingers", "an open string", "off the neck", "no such string"],
)
def test_what_cannot_be_bent_is_not_heavy(string: int, fret: int, semitones: int, heavy: bool) -> None:
    assert PedalState().is_heavy(string, fret, semitones) is heavy


def test_ladder_warns_of_the_same_bends_that_a_round_counts(unstrung) -> None:
    warned = {rung.crossing for rung in unstrung.rungs() if "heavy" in rung.support}
    counted = {(item.string, item.fret, item.semitones) for item in unstrung.items() if item.heavy}
    assert warned == counted and 0 < len(warned) < len(unstrung.rungs())
