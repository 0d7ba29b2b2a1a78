"""The rooms of the ear one by one: decimator, gate, lag, filter, noise, hum."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.pitch import make_tracker
from pedal.pitch.band import TAPS, Band, band_kernel
from pedal.pitch.correlation import Correlation, ReadBack, alike, read_back
from pedal.pitch.gate import Gate
from pedal.pitch.intake import Intake
from pedal.pitch.lag import find_period, peak_near
from pedal.pitch.noise import EVERY_TICKS, SIZE, Noise
from pedal.pitch.octave import CUTOFF_HZ, LOOK_TICKS, Octave
from pedal.pitch.partial_filter import PartialFilter, partial_filters
from pedal.pitch.search import CLEAR, CLEAR_AT_LAST, CLEAR_AT_ONCE, Sight, is_hum

INNER = 12_000.0


@pytest.mark.parametrize("part", [1, 7, 100, 128])
@pytest.mark.parametrize("rate", [8000, 44_100, 48_000, 192_000])
def test_the_decimator_does_not_care_how_blocks_are_cut(rate: int, part: int) -> None:
    x = np.random.default_rng(2).normal(size=4096).astype(np.float32) * 0.1
    whole, cut = Intake(rate, 1024), Intake(rate, part)
    many, few = (fed(intake, x, length) for intake, length in ((whole, 1024), (cut, part)))
    assert many == few == pytest.approx(4096 / round(rate / INNER), abs=12)
    count = min(many, int(0.1 * whole.rate_hz)) - 200
    assert np.abs(whole.newest(count) - cut.newest(count)).max() < 1e-2


def fed(intake: Intake, x: np.ndarray, length: int) -> int:
    """How many inner samples all of it became, in parts of a length; now is at their end."""
    count = 0
    for start in range(0, len(x), length):
        intake.feed(x[start : start + length])
        count += intake.waiting
        intake.step(intake.waiting)
    return count


def test_what_waits_is_not_looked_at_yet_and_its_age_is_told() -> None:
    """500 samples are 125 inner ones; of 503 the last three wait for their fourth, and are already in the next one."""
    intake, x = Intake(48_000, 1024), np.random.default_rng(3).normal(size=1503).astype(np.float32)
    fed(intake, x[:1000], 500)
    before = intake.newest(100).copy()
    intake.feed(x[1000:])
    assert np.array_equal(intake.newest(100), before)
    assert (intake.waiting, intake.ago_s) == (126, pytest.approx(503 / 48_000))
    intake.step(120)
    assert intake.ago_s == pytest.approx((503 - 480) / 48_000)
    assert np.array_equal(intake.newest(220)[:100], before)


@pytest.mark.parametrize(
    ("hz", "least", "most"), [(0.0, 0.0, 1e-3), (82.0, 0.95, 1.02), (1000.0, 0.99, 1.01), (9000.0, 0.0, 0.02)]
)
def test_the_decimator_passes_the_string_and_nothing_else(hz: float, least: float, most: float) -> None:
    intake, t = Intake(48_000, 128), np.arange(24_000) / 48_000
    x = (np.cos(2 * np.pi * hz * t)).astype(np.float32)
    fed(intake, x[: len(x) - len(x) % 128], 128)
    peak = np.abs(intake.newest(1000)).max()
    assert least <= peak <= most


def test_a_filter_sees_the_partials_and_not_their_neighbours() -> None:
    partial_filter = partial_filters(INNER).nearest(110.0)
    t = np.arange(-partial_filter.behind, partial_filter.behind + 1) / INNER
    for heard in range(1, 5):
        z = partial_filter.rows @ np.cos(2 * np.pi * heard * filter_hz(partial_filter) * t + 0.7)
        seen = np.hypot(z[:4], z[4:])
        assert seen[heard - 1] == pytest.approx(0.5, abs=1e-3)
        assert np.delete(seen, heard - 1).max() < 2e-3
        assert np.arctan2(z[4 + heard - 1], z[heard - 1]) == pytest.approx(0.7, abs=1e-2)


def filter_hz(partial_filter: PartialFilter) -> float:
    return 2 / partial_filter.seconds  # two periods


@pytest.mark.parametrize("hz", [20.0, 52.0, 82.4, 440.0, 1899.0, 5000.0])
def test_there_is_a_filter_for_any_frequency(hz: float) -> None:
    partial_filter = partial_filters(INNER).nearest(hz)
    assert 1 <= partial_filter.count <= 4
    assert partial_filter.length <= partial_filters(INNER).nearest(0.0).length


@pytest.mark.parametrize("period", [9.1, 17.3, 57.5, 146.2])
def test_the_period_is_found_and_not_a_multiple(period: float) -> None:
    t = np.arange(600)
    x = sum(np.sin(2 * np.pi * k * t / period + k) / k for k in range(1, 6) if k < period / 3).astype(np.float32)
    found, clarity = find_period(Correlation(400, INNER, CUTOFF_HZ).nsdf(Still(x), 140, 7, 207), 7)
    assert found == pytest.approx(period, rel=0.01)
    assert clarity > 0.97
    assert alike(x, period, x[-200:], float(x[-200:] @ x[-200:])) > 0.995


def test_noise_has_no_clear_period() -> None:
    x = np.random.default_rng(1).normal(size=600).astype(np.float32)
    assert find_period(Correlation(400, INNER, CUTOFF_HZ).nsdf(Still(x), 140, 7, 207), 7)[1] < 0.6


class Still:
    """A sound of which no more comes, so many samples after its beginning."""

    def __init__(self, x: np.ndarray, heard: int | None = None) -> None:
        self._x, self.heard = x, heard or len(x)

    def newest(self, count: int) -> np.ndarray:
        return self._x[len(self._x) - count :]


def test_a_band_is_the_same_however_often_it_is_looked_at() -> None:
    """Parts of a sound as they come, a look left out, then a gap: as if all of it were filtered at each look."""
    x = np.random.default_rng(5).normal(size=4000).astype(np.float32)
    band, kernel, intake = Band(CUTOFF_HZ, INNER, 300), band_kernel(CUTOFF_HZ, INNER), Intake(12_000, 1000)
    assert len(kernel) == TAPS
    for number, part in enumerate(np.split(x, range(40, 4000, 40))):
        if number == 60:
            intake.forget()
        intake.feed(part)
        intake.step(intake.waiting)
        if number % 7 != 3 and number % 30 > 12:
            count = 50 + 8 * (number % 30)
            expected = np.correlate(intake.newest(count + TAPS - 1), kernel, "valid")
            assert np.array_equal(band.newest(intake, count), expected)


def test_a_distorted_note_whose_fundamental_is_nearly_missing_is_not_an_octave_higher() -> None:
    """Partials 1 and 3 at -28 dB, 5 at -8 dB: so begin the distorted guitars of two sound fonts."""
    t = np.arange(1200) / INNER
    levels = {1: -28, 2: 0, 3: -32, 4: -15, 5: -8}
    x = sum(10 ** (db / 20) * np.sin(2 * np.pi * 587.3 * k * t + k) for k, db in levels.items()).astype(np.float32)
    octave = Octave(INNER)
    for times in (1, 2):
        assert octave.best(Still(x), 587.3 * times, 1000)[0] == pytest.approx(587.3, rel=2e-3)


@pytest.mark.parametrize("times", [2, 3])
def test_a_period_found_too_long_in_the_noise_of_the_pick_is_put_right(times: int) -> None:
    t, hiss = np.arange(1400) / INNER, np.random.default_rng(3).normal(size=1400)
    x = (sum(np.sin(2 * np.pi * 415.3 * k * t + k) / k for k in range(1, 5)) + 0.1 * hiss).astype(np.float32)
    octave = Octave(INNER)
    assert octave.best(Still(x), 415.3 / times, 1000)[0] == pytest.approx(415.3, rel=5e-3)
    heard = [octave.weigh(Still(x), 415.3 / times, 300, LOOK_TICKS, speed=0.0) for _ in range(4)]
    assert heard[0] == 415.3 / times, "one look is not enough"
    assert heard[-1] == pytest.approx(415.3)


def test_a_long_period_that_two_sounds_share_by_chance_has_no_partials_of_its_own() -> None:
    """A recorded E flat 4 begins over the ringing of the tailpiece at 441 Hz: nearly the second and third of 153 Hz."""
    t = np.arange(2000) / INNER
    string_hz, other_hz = 311.3, 441.7
    x = sum(np.sin(2 * np.pi * string_hz * k * t + k) / k for k in (1, 2, 3)) + 0.9 * np.sin(2 * np.pi * other_hz * t)
    assert Octave(INNER).best(Still(x.astype(np.float32)), 153.3, 1900)[0] > 290


def test_an_octave_is_decided_once() -> None:
    """The odd partials of a string die 33 dB below the even ones as it fades: it is the same string."""
    t = np.arange(1400) / INNER
    x = sum(np.sin(2 * np.pi * 185.0 * k * t + k) * (1.0 if k % 2 == 0 else 0.02) / k for k in range(1, 5))
    octave = Octave(INNER)
    octave.weigh(Still(x.astype(np.float32)), 185.0, 1000, 76, speed=0.0)
    assert octave.decided
    assert all(
        octave.weigh(Still(x.astype(np.float32)), 185.0, 1000, LOOK_TICKS, speed=0.0) == 185.0 for _ in range(20)
    )


def test_the_gate_learns_silence_and_opens_for_a_note() -> None:
    gate = Gate()
    for _ in range(300):
        assert not gate.hear(1e-8, over_noise=0.0)
        gate.learn()
    assert gate.floor == pytest.approx(1e-8, rel=0.05)
    assert gate.hear(1e-6, over_noise=0.0)
    for _ in range(6):
        sinking = gate.hear(2.5e-8, over_noise=3.0)
    assert sinking, "a held note may sink into the floor"
    assert not gate.hear(2.5e-8, over_noise=0.0), "a new one may not start there"


def test_a_note_that_drops_out_is_over_however_low_the_floor_is() -> None:
    gate = Gate()
    for _ in range(20):
        gate.hear(1e-2, over_noise=100.0)
    open_for = sum(gate.hear(1e-6, over_noise=100.0) for _ in range(40))
    assert open_for <= 6


def test_noise_knows_where_hum_is() -> None:
    noise, t = Noise(INNER), np.arange(SIZE) / INNER
    hum = (0.01 * np.sin(2 * np.pi * 100 * t)).astype(np.float32)
    for _ in range(EVERY_TICKS * 3):
        noise.hear(lambda count: hum[-count:])
    assert noise.density(100.0) > 1000 * noise.density(400.0)


@pytest.mark.parametrize(
    ("hz", "hums"),
    [(50.1, True), (60.0, True), (119.6, True), (150.0, True), (180.2, True)]
    + [(82.4, False), (61.7, False), (200.0, False), (240.0, False), (440.0, False)],
)
def test_hum_is_known_by_its_pitch(hz: float, hums: bool) -> None:
    assert is_hum(hz) == hums


@pytest.mark.parametrize("beyond", [-1, 0, 1, 2, 3, 9])
def test_a_multiple_that_has_drifted_off_the_end_is_no_peak(beyond: int) -> None:
    """Each multiple moves the period a little, so that a late one may lie past the last lag."""
    nsdf = np.linspace(0.0, 1.0, 40).astype(np.float32)
    assert peak_near(nsdf, 40.0 + beyond) == (40.0 + beyond, 0.0)


@pytest.mark.parametrize("window", [22, 32])
def test_reading_back_made_ready_is_reading_back(window: int) -> None:
    x = np.random.default_rng(5).normal(size=400).astype(np.float32)
    ready = ReadBack(window)
    for lag in np.linspace(8.0, 300.0, 97):
        read = ready.read(lambda ago, count: x[len(x) - ago - count : len(x) - ago], lag)
        assert np.allclose(read, read_back(x, lag, window), atol=1e-6)


def test_a_doubtful_period_is_believed_at_the_sixth_look_that_agrees() -> None:
    """Half a tone and half hiss: more alike than what convinces at last, less than what two looks convince."""
    t = np.arange(600) / INNER
    x = np.sin(2 * np.pi * 200.0 * t) + 0.3 * np.random.default_rng(1).normal(size=600)
    sound, sight = Still(x.astype(np.float32)), Sight(400, INNER, CUTOFF_HZ)
    heard = [sight.look(sound, 140, 7, 207) for _ in range(8)]
    assert CLEAR_AT_LAST < sight.clarity < CLEAR
    assert heard[:5] == [0.0] * 5, "too soon"
    assert heard[5:] == pytest.approx([200.0] * 3, rel=0.02)


def test_of_digital_silence_the_floor_is_ninety_decibels_down_and_no_less() -> None:
    tracker, silence = make_tracker(48_000, 128), np.zeros(128, np.float32)
    assert [tracker.push(silence)[0] for _ in range(375)][-1].floor_db == pytest.approx(-90.0)


@pytest.mark.parametrize(("then_hz", "agrees"), [(206.0, True), (207.5, False)])
def test_two_looks_agree_within_half_a_semitone(then_hz: float, agrees: bool) -> None:
    """Of a sound that is not clear enough to be believed at once."""
    t, hiss = np.arange(600) / INNER, 0.1 * np.random.default_rng(1).normal(size=600)
    sight = Sight(400, INNER, CUTOFF_HZ)
    first, then = ((np.sin(2 * np.pi * hz * t) + hiss).astype(np.float32) for hz in (200.0, then_hz))
    assert sight.look(Still(first), 140, 7, 207) == 0.0
    heard = sight.look(Still(then, heard=1200), 140, 7, 207)
    assert CLEAR < sight.clarity < CLEAR_AT_ONCE
    assert heard == (pytest.approx(then_hz, rel=0.01) if agrees else 0.0)
