"""What lies beyond all strings explains nothing, however little the pitch that was found explains."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.pitch.octave import Octave
from pedal.pitch.partial_filter import HIGHEST_HZ, LOWEST_HZ

RATE = 12_000.0


class Heard:
    """Samples up to `heard`, as the intake keeps them."""

    def __init__(self, samples: np.ndarray) -> None:
        self._samples = samples.astype(np.float32)
        self.heard = 3000

    def newest(self, count: int) -> np.ndarray:
        return self._samples[self.heard - count : self.heard]


@pytest.mark.parametrize("sound", ["noise", "silence"])
@pytest.mark.parametrize("hz", [53.0, 100.0, 1000.0, 1661.0, 1890.0])
def test_a_held_pitch_that_fell_silent_is_not_looked_for_beyond_all_strings(hz: float, sound: str) -> None:
    """The fuzz found it: a high note, then a hole of 0.19 s, and the ear asked for noise at 6.6 kHz of 6."""
    octave, heard = Octave(RATE), Heard(np.random.default_rng(577).normal(size=6000) * (sound == "noise"))
    octave.start()
    for _ in range(40):
        heard.heard += 64
        assert LOWEST_HZ <= octave.weigh(heard, hz, 400, 2) <= HIGHEST_HZ
    assert LOWEST_HZ <= octave.best(heard, hz, 400)[0] <= HIGHEST_HZ
