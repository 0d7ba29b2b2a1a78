"""A string heard now right, now an octave low is one string."""

from __future__ import annotations

from itertools import cycle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedal.notes.lifting import lifted
from pedal.pitch.reading import Reading

G4 = 392.0


def read(hz: list[float]) -> list[Reading]:
    return [Reading(0.01 * i, one, 0.9, -20.0, 0.01 * i + 0.005) for i, one in enumerate(hz)]


@given(st.lists(st.sampled_from([1, 2, 3]), min_size=1, max_size=30), st.booleans())
def test_a_slide_comes_out_whole_whatever_factor_each_reading_is_low_by(factors: list[int], known: bool) -> None:
    frets = [G4 * 2 ** (fret / 12) for fret in (0, 0, 1, 1, 2, 2, 2)]
    factors = [*([] if known else [3]), *factors]
    played = [hz for hz, _ in zip(cycle(frets), factors, strict=False)]
    heard = read([hz / factor for hz, factor in zip(played, factors, strict=True)])
    assert [one.hz for one in lifted(heard, 3, G4 if known else 0.0)] == pytest.approx(played)


def test_a_jump_of_five_frets_is_no_octave_and_silence_stays_silence() -> None:
    heard = read([G4 / 2, 0.0, G4 * 2 ** (5 / 12)])
    assert [one.hz for one in lifted(heard, 2, G4)] == pytest.approx([G4, 0.0, G4 * 2 ** (5 / 12)])
