"""The notch: the highest median of five readings, however it is found."""

from __future__ import annotations

from statistics import median

from hypothesis import given
from hypothesis import strategies as st

from pedal.modes.string_now import StringNow
from pedal.notes.event import Onset

# Written out, and not taken from the code, so that a change of it is seen.
PEAK_READINGS = 5


@given(st.lists(st.floats(80.0, 100.0), max_size=60))
def test_the_notch_is_the_highest_median_of_five_readings(pitches: list[float]):
    string = StringNow()
    string.hear(Onset(0.0))
    for hz in pitches:
        string.climb(hz)
    windows = [pitches[at : at + PEAK_READINGS] for at in range(len(pitches) - PEAK_READINGS + 1)]
    assert string._peak_hz == max((median(window) for window in windows), default=0.0)
