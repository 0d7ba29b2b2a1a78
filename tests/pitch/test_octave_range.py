"""What lies beyond all strings explains nothing, however little the pitch that was found explains."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.pitch.octave import Octave
from pedal.pitch.partial_filter import HIGHEST_HZ, LOWEST_HZ

RATE = 12_000.0


@pytest.mark.parametrize("sound", ["noise", "silence"])
@pytest.mark.parametrize("hz", [53.0, 100.0, 1000.0, 1661.0, 1890.0])
def test_a_held_pitch_that_fell_silent_is_not_looked_for_beyond_all_strings(hz: float, sound: str) -> None:
    """The fuzz found it: a high note, then a hole of 0.19 s, and the ear asked for noise at 6.6 kHz of 6."""
    rng = np.random.default_rng(577)
    octave = Octave(RATE)
    octave.start()

    def newest(count: int) -> np.ndarray:
        return (rng.normal(size=count) if sound == "noise" else np.zeros(count)).astype(np.float32)

    for _ in range(40):
        assert LOWEST_HZ <= octave.weigh(newest, hz, 400, 2) <= HIGHEST_HZ
    assert LOWEST_HZ <= octave.best(newest, hz, 400)[0] <= HIGHEST_HZ
