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
