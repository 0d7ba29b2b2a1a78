"""By how much later all comes back: told by partials that agree, and by no more than they can tell."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.leak.chord_fit import Seen
from pedal.leak.way_back import WayBack
from pedal.leak.way_time import WayTime
from pedal.theory.cents import hz_of

ROOT = hz_of(55)
HZ = np.array([ROOT * n for n in range(1, 13)] + [hz_of(59), hz_of(62), hz_of(65)])
POWERS = np.concatenate([1.0 / np.arange(1, 13) ** 2, np.full(3, 0.8)])
LINES = np.arange(len(HZ))


def known() -> WayBack:
    way = WayBack(len(HZ))
    way.found[:] = 0.03 * np.exp(1j * LINES)
    way.doubts[:] = 1e-9
    way.level = 0.03
    return way


def seen(way: WayBack, later_s: float, *, hidden: list[int]) -> Seen:
    """As if all came so much later, with a string on the lines that are hidden."""
    ways = way.found * np.exp(-2j * np.pi * HZ * later_s)
    doubts = np.full(len(HZ), 1e-9)
    ways[hidden] += 0.2j
    doubts[hidden] = 1.0
    return Seen(LINES, ways, doubts)


@pytest.mark.parametrize("off_us", [-4, -1, 0, 2, 5])
def test_partials_of_one_note_tell_of_no_jump_by_its_period(off_us: int) -> None:
    """A string hides the rest of the chord; the root's own partials are alike again after each of its periods."""
    way, time = known(), WayTime(HZ)
    hidden = [0, 1, 12, 13, 14]
    for window in range(4):
        at_s = 0.05 * window
        time.look(lambda late_s: seen(way, 1e-6 * off_us - late_s, hidden=hidden), way, POWERS, at_s)
    assert abs(time.late(0.2)) < 2e-5
