"""Readings of one string that the tracker heard now right, now too low by a whole factor -> all of them right."""

from __future__ import annotations

import math

from pedal.pitch.reading import Reading


def lifted(readings: list[Reading], multiple: int, start_hz: float) -> list[Reading]:
    """Each reading times 1 to `multiple`, whichever lies nearest to the one before it.

    `start_hz`: the pitch the note began with, 0.0 if that is not known; then it was heard too low by the whole factor.
    """
    before_hz, all_right = start_hz, []
    for reading in readings:
        if reading.hz > 0.0:
            if before_hz == 0.0:
                before_hz = multiple * reading.hz
            ratio = before_hz / reading.hz
            before_hz = reading.hz * min(range(1, multiple + 1), key=lambda times: abs(math.log(ratio / times)))
            reading = reading._replace(hz=before_hz)
        all_right.append(reading)
    return all_right
