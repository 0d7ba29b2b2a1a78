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


def test_ladder_warns_of_the_same_bends_that_a_round_counts(unstrung) -> None:
    warned = {rung.crossing for rung in unstrung.rungs() if "heavy" in rung.support}
    counted = {(item.string, item.fret, item.semitones) for item in unstrung.items() if item.heavy}
    assert warned == counted and 0 < len(warned) < len(unstrung.rungs())
