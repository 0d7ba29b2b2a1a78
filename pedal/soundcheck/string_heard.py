"""Whether a string is played at an input: a pitch that stands out, and that comes and goes as hum does not."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.pitch import hop_samples, make_tracker
from pedal.soundcheck.levels import db_of, rms
from pedal.values import frozen

LEAST_S = 0.25
"""So much pitch in all: a click or a spoken word has less."""
MOVES_DB = 6.0
"""A string is struck and fades by more; hum and whistles stand."""
FAINT_DB = -75.0
"""Where the ear takes silence to be until it has heard it."""


@frozen
class StringHeard:
    """`heard`: somebody plays. `loudest_db`: RMS of the loudest reading; `pitch_s`: seconds with a pitch."""

    heard: bool
    loudest_db: float
    pitch_s: float


def string_heard(samples: NDArray[np.float32], rate_hz: int) -> StringHeard:
    """Look through mono samples in [-1, 1]."""
    mean_db = db_of(rms(samples))
    if mean_db < FAINT_DB:
        return StringHeard(False, mean_db, 0.0)
    hop = hop_samples(rate_hz)
    tracker = make_tracker(rate_hz, hop)
    readings = [
        reading
        for first in range(0, len(samples) - hop + 1, hop)
        for reading in tracker.push(np.ascontiguousarray(samples[first : first + hop], np.float32))
    ]
    loudest_db = max((reading.level_db for reading in readings), default=-140.0)
    levels = [reading.level_db for reading in readings if reading.hz > 0.0]
    pitch_s = len(levels) * hop / rate_hz
    moves = bool(levels) and max(levels) - min(reading.level_db for reading in readings) >= MOVES_DB
    return StringHeard(moves and pitch_s >= LEAST_S, loudest_db, pitch_s)
