"""A hand stops a string within some hundredths of a second; left alone it takes far longer."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.notes.ending import find_collapse

STEP_S = 128 / 48000


def level(
    fade_s: float, *, body_s: float = 0.6, decay_db_s: float = 10.0, floor_db: float = -70.0, pulse_db: float = 0.0
):
    """Times and levels of a note that decays, fades with the square of time, and leaves 0.12 s of silence."""
    t = np.arange(0, body_s + fade_s + 0.12, STEP_S)
    left = np.clip((body_s + fade_s - t) / max(fade_s, 1e-6), 1e-9, 1.0)
    db = -20 - decay_db_s * t + 40 * np.log10(left) - pulse_db * (np.arange(len(t)) % 4)
    return t, np.maximum(db, floor_db + np.random.default_rng(7).normal(size=len(t)))


@pytest.mark.parametrize("fade_s", [0.004, 0.012, 0.030, 0.060])
@pytest.mark.parametrize("pulse_db", [0.0, 4.0], ids=["even", "pulsing like a low string"])
def test_a_damped_string_was_stopped_by_hand(fade_s, pulse_db) -> None:
    t, db = level(fade_s, pulse_db=pulse_db)
    collapse = find_collapse(t, db)
    assert collapse is not None
    assert collapse.by_hand
    assert 0.55 < collapse.begin_s < 0.6 + fade_s


@pytest.mark.parametrize("fade_s", [0.200, 0.250, 0.5, 1.0])
def test_a_fading_string_was_not(fade_s) -> None:
    collapse = find_collapse(*level(fade_s, pulse_db=2.0))
    assert collapse is not None
    assert not collapse.by_hand


def test_a_string_that_decays_by_itself_was_not() -> None:
    collapse = find_collapse(*level(0.3, body_s=4.0, decay_db_s=11.0))
    assert collapse is not None
    assert not collapse.by_hand


def test_a_level_that_stays_up_has_no_collapse() -> None:
    t = np.arange(0, 1, STEP_S)
    assert find_collapse(t, -20 - 5 * t) is None
    assert find_collapse(t[:3], t[:3]) is None
