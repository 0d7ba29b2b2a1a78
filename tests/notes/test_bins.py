"""How much a bin of pitch counts, by how long after the pluck it lies and how sure its readings are."""

from __future__ import annotations

import math

import pytest

from pedal.notes.bins import Bins
from pedal.notes.decoder import BIN_S
from pedal.pitch.reading import Reading


@pytest.mark.parametrize("confidence", [1.0, 0.9])
@pytest.mark.parametrize("since_s", [0.0, 0.02, 0.1, 0.4, 0.8, 5.0])
def test_a_bin_is_known_as_well_as_the_pluck_lets_it_be(since_s: float, confidence: float) -> None:
    """The rows of docs/sources.md: 16 cents of 10 ms and 3 of 60 ms, and 400 of 20 ms for what confidence lacks."""
    bins = Bins(1.0)
    at_s = 1.0 + since_s + 0.5 * BIN_S
    bins.hear(Reading(time_s=at_s, hz=220.0, confidence=confidence, level_db=-20.0, heard_s=at_s, attack_db=0.0))
    ((cents, weight),) = bins.flush()
    begins_s = int((since_s + 0.5 * BIN_S) / BIN_S) * BIN_S
    pick, pluck = 16.0 * math.exp(-begins_s / 0.01), 3.0 * math.exp(-begins_s / 0.06)
    doubt = 400.0 * (1.0 - confidence) * math.exp(-begins_s / 0.02)
    assert cents == 0.0
    assert 1.0 / weight == pytest.approx(1.0 + pick**2 + pluck**2 + doubt**2, rel=1e-6)
