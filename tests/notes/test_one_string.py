"""What the ear heard at a whole part or multiple of the pitch is put where the string was."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pedal.notes.one_string import of_one_string, put_right
from pedal.notes.runs import Run


def flat(begin: int, end: int, cents: float, sigma: float = 1.0) -> Run:
    return Run("flat", begin, end, cents, cents, sigma)


def leap(before: Run, after: Run) -> Run:
    up = after.from_cents > before.to_cents
    return Run("up" if up else "down", before.end, after.begin, before.to_cents, after.from_cents, 1.0, jump=True)


def heights(runs: list[Run]) -> list[float]:
    return [h for run in runs for h in (run.from_cents, run.to_cents)]


@pytest.mark.parametrize("times", [2, 3, 4, 5, 6])
@pytest.mark.parametrize("above", [True, False])
def test_a_reading_at_a_multiple_or_a_part_is_put_where_the_runs_lie(times, above) -> None:
    off = 1200.0 * math.log2(times) * (1 if above else -1)
    right = np.array([0.0, 10.0, 150.0, 200.0])
    heard = right + np.array([0.0, off, off, 0.0])
    np.testing.assert_allclose(put_right(heard, [flat(0, 9, 0.0), flat(20, 40, 200.0)]), right, atol=1e-9)


def test_a_reading_that_no_multiple_explains_stays() -> None:
    heard = np.array([0.0, 700.0, 0.0])
    np.testing.assert_array_equal(put_right(heard, [flat(0, 9, 0.0)]), heard)


@pytest.mark.parametrize("times", [2, 3, 5, 6])
@pytest.mark.parametrize(("rise", "joins"), [(20.0, True), (55.0, True), (74.0, True), (76.0, False)])
@pytest.mark.parametrize("up", [1, -1])
def test_what_a_quick_curl_does_in_a_leap_stays_of_it(times, rise, joins, up) -> None:
    """A whole curl may last no longer than 130 ms: the ear may look for the octave all through its rise."""
    before, after = flat(0, 8, 0.0), flat(13, 60, up * 1200.0 * math.log2(times) + rise)
    runs = of_one_string([before, leap(before, after), after])
    assert runs[-1] == after
    found = runs[-1].to_cents - runs[0].from_cents
    assert found == pytest.approx(rise if joins else 0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("times", "rise"), [(times, rise) for times in (2, 3, 4, 5) for rise in (110.0, 195.0)] + [(9, 108.0)]
)
@pytest.mark.parametrize("up", [1, -1])
def test_what_a_quick_bend_does_in_a_leap_stays_of_it(times, rise, up) -> None:
    """It rises before the leap, so it went on rising in it, and of the multiples the next lower one explains it."""
    off = 1200.0 * math.log2(times)
    before, rises = flat(0, 8, 0.0), Run("up", 8, 13, 0.0, 50.0, 1.5)
    after = flat(18, 60, up * off + 50.0 + rise)
    runs = of_one_string([before, rises, leap(rises, after), after])
    assert runs[0].cents == pytest.approx(up * off, abs=1e-6)
    assert runs[-1] == after


@pytest.mark.parametrize(
    ("times", "frets", "off", "sigma", "heard"),
    [
        (4, 2, 0.0, 1.0, True), (4, 3, 6.0, 1.0, True), (4, -2, 0.0, 2.6, True), (4, 2, 0.0, 2.8, False),
        (4, 2, 30.0, 1.0, False), (5, 2, 0.0, 1.0, False), (2, -3, 0.0, 1.0, True), (2, -4, 0.0, 1.0, False),
    ],
)  # fmt: skip
def test_what_stands_before_and_after_a_leap_stands_on_frets(times, frets, off, sigma, heard) -> None:
    """Some multiple explains many a leap: it must be known well that a fret lies there."""
    before, after = flat(0, 20, -1200.0 * math.log2(times), sigma), flat(25, 90, 100.0 * frets + off)
    runs = of_one_string([before, leap(before, after), after])
    assert len(runs) == (3 if heard else 0)
    assert not heard or (runs[0].cents == pytest.approx(0.0, abs=1e-6) and runs[-1] == after)


@pytest.mark.parametrize(
    ("height", "bins", "heard"), [(-225.0, 7, False), (-80.0, 9, True), (-60.0, 7, True), (225.0, 7, True)]
)
def test_a_beginning_that_is_quicker_than_a_hand_and_leaps_back_is_the_ear_looking(height, bins, heard) -> None:
    """One that leaps on may be a quick bend."""
    looks, stands = Run("down" if height < 0 else "up", 0, bins, 47.0, 47.0 + height, 1.1), flat(bins + 5, 70, 300.0)
    runs = of_one_string([looks, leap(looks, stands), stands])
    assert runs[-1] == stands
    assert (runs[0] == looks) == heard


def test_a_long_stand_that_is_hardly_known_does_not_outweigh_one_that_is() -> None:
    noise, string = flat(0, 70, 1240.0, 22.0), flat(75, 110, 0.0, 0.5)
    assert of_one_string([noise, leap(noise, string), string])[-1].cents == pytest.approx(0.0, abs=1.0)


def test_the_pitch_of_the_pluck_does_not_outweigh_what_stood_later() -> None:
    """A ninth of the pitch for an eighth of a second, and then the bend, whose top stood no longer."""
    low, rises = flat(6, 31, -3804.0, 0.4), Run("up", 36, 58, 0.0, 330.0, 1.0)
    top = flat(58, 81, 330.0, 0.3)
    runs = of_one_string([low, leap(low, rises), rises, top])
    assert runs[-1] == top
    assert runs[0].cents == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize(
    ("height", "bins", "heard"), [(330.0, 6, False), (80.0, 8, False), (80.0, 9, True), (16.0, 8, True)]
)
def test_what_moves_quicker_than_a_hand_and_is_misheard_is_the_ear_looking(height, bins, heard) -> None:
    moves, stands = Run("up", 20, 20 + bins, -2430.0 - height, -2430.0, 1.1), flat(25 + bins, 70, 0.0)
    runs = of_one_string([moves, leap(moves, stands), stands])
    assert runs[-1] == stands
    assert ((len(runs) > 1) and runs[0].height == pytest.approx(height)) == heard


def test_what_is_hardly_known_bent_nothing() -> None:
    """Two readings of the pick's own tone before a curl are a stand, three frets below it in some octave."""
    noise, curl = flat(0, 5, 1702.0, 24.0), Run("up", 10, 20, 0.0, 32.0, 0.8)
    end = flat(20, 26, 32.0, 0.8)
    assert of_one_string([noise, leap(noise, curl), curl, end]) == [curl, end]


def test_where_nothing_stands_the_longest_move_is_right() -> None:
    first, last = Run("up", 0, 24, -1200.0, -1160.0, 1.0), Run("up", 28, 34, 44.0, 50.0, 1.0)
    runs = of_one_string([first, leap(first, last), last])
    assert np.diff(heights(runs)).max() < 41.0
    assert runs[-1].to_cents - runs[0].from_cents == pytest.approx(50.0, abs=1e-6)


def test_a_stand_that_is_hardly_known_does_not_outweigh_a_shorter_one_that_is() -> None:
    """The pick's own tone for 37 ms, and the end of a curl for 32."""
    noise, curl, end = flat(0, 7, 1176.0, 22.0), Run("up", 12, 18, 0.0, 19.0, 1.4), flat(23, 29, 1926.0, 1.4)
    runs = of_one_string([noise, leap(noise, curl), curl, leap(curl, end), end])
    assert runs[-1].cents == pytest.approx(end.cents, abs=1.0)
    assert all(abs(h - end.cents) < 30.0 for h in heights(runs))
