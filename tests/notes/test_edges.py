"""The edge of each hop is that of the whole sound, however it is cut."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.notes.edges import Edges

HOP = 128


@pytest.mark.parametrize("hops_a_push", [1, 3, 12])
def test_edges_are_the_mean_squares_of_the_differences(hops_a_push) -> None:
    sound = np.random.default_rng(1).standard_normal(12 * HOP).astype(np.float32)
    edges = Edges(HOP)
    pushes = np.split(sound, 12 // hops_a_push)
    found = np.array([edge for push in pushes for edge in edges.of(push)])
    before = np.concatenate((np.zeros(2), sound))
    wanted = [np.mean(np.diff(before, order)[-len(sound) :].reshape(12, HOP) ** 2, axis=1) for order in (1, 2)]
    assert found == pytest.approx(np.array(wanted).T, rel=1e-5)


def test_after_a_gap_nothing_of_the_sound_before_counts() -> None:
    edges, fresh = Edges(HOP), Edges(HOP)
    edges.of(np.ones(HOP, np.float32))
    edges.forget()
    ramp = np.linspace(0, 1, HOP, dtype=np.float32)
    assert edges.of(ramp) == fresh.of(ramp)
