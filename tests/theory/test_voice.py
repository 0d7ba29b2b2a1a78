"""A chord's share of the sound at its ends: it comes as the one before it goes, and is alone in between."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.theory.voice import CROSSING_S, crossed


def test_two_chords_that_follow_each_other_make_one_whole() -> None:
    times = np.arange(0.9, 1.1, 1e-4)
    np.testing.assert_allclose(crossed(times, 0.0, 1.0) + crossed(times, 1.0, 2.0), 1.0, atol=1e-12)


@pytest.mark.parametrize("begin_s", [-0.2, -0.01, 0.0, 0.005, 0.3, 0.98, 0.995, 1.2])
def test_a_stretch_has_the_shares_of_its_moments(begin_s: float) -> None:
    """However few are asked for at once: looked at alone, none is taken for one between."""
    times = begin_s + np.arange(400) / 48_000
    alone = [float(crossed(times[k : k + 1], 0.0, 1.0)[0]) for k in range(len(times))]
    np.testing.assert_allclose(crossed(times, 0.0, 1.0), alone, atol=1e-12)
    assert len(crossed(times[:0], 0.0, 1.0)) == 0


@pytest.mark.parametrize(("time_s", "share"), [(-CROSSING_S, 0.0), (0.0, 0.5), (0.5, 1.0), (1.0, 0.5), (1.5, 0.0)])
def test_it_has_half_at_its_ends_all_in_between_and_nothing_outside(time_s: float, share: float) -> None:
    assert crossed(np.array([time_s]), 0.0, 1.0)[0] == pytest.approx(share, abs=1e-12)
