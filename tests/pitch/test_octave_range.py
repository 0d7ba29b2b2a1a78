"""The octave: what lies beyond all strings explains nothing, and what moves is not empty."""

from __future__ import annotations

import numpy as np
import pytest
from string_takes import RATE as RATE_HZ
from string_takes import cents, hear, note_hz, sounding, string, take

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
        assert LOWEST_HZ <= octave.weigh(heard, hz, 400, 2, speed=0.0) <= HIGHEST_HZ
    assert LOWEST_HZ <= octave.best(heard, hz, 400)[0] <= HIGHEST_HZ


@pytest.mark.parametrize("midi", [58, 61, 64, 67])
@pytest.mark.parametrize("rise_s", [0.06, 0.08, 0.1])
def test_a_fast_bend_leaps_by_no_octave(midi: int, rise_s: float) -> None:
    """What a bend does to a spectrum of 53 ms is no empty comb: the ear took each third of such bends up an octave."""
    time_s = np.arange(round(0.6 * RATE_HZ)) / RATE_HZ
    way = np.clip((time_s - 0.12) / rise_s, 0.0, 1.0)
    true_hz = note_hz(midi) * 2.0 ** (300.0 * way**2 * (3.0 - 2.0 * way) / 1200.0)
    heard = hear(take(string(true_hz, 0.6, pluck_at=0.3, pickup_at=0.25)))
    inside = sounding(heard, 0.55)
    assert np.abs(cents(heard.hz, np.interp(heard.time_s, time_s, true_hz))[inside]).max() < 600.0
