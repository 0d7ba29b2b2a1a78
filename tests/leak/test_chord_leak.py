"""Chords in time that come back into the input: learned in pauses, and taken off from bar to bar, also under notes."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from pedal.leak.chord_leak import ChordLeak
from pedal.leak.click_path import ClickPath
from pedal.synth.backing import Backing
from pedal.theory.cents import hz_of
from pedal.theory.pulse import Grid, Pulse

RATE = 48_000
ONE, FOUR = tuple(map(hz_of, (55, 59, 62, 65))), tuple(map(hz_of, (48, 52, 55, 58)))
PULSE = Pulse(100, (ONE, FOUR), 0.5, hz_of(103))
BAR_S, MOST_BARS = 2.4, 12
DELAY = 580


@cache
def sent() -> tuple[NDArray[np.float64], int]:
    """The longest that these tests need, at -12 dBFS; and the sample of its first beat."""
    voice = Backing(RATE, peak_db=-12.0)
    voice.follow(PULSE, -12.0)
    there = voice.render(round(MOST_BARS * BAR_S * RATE))
    assert voice.beat_zero is not None
    return there, voice.beat_zero


def back(seconds: float, *, db: float) -> tuple[NDArray[np.float32], Grid]:
    """What comes back, so loud at its peak, after a delay and with an echo; and where its beats lie."""
    every, zero = sent()
    assert seconds <= MOST_BARS * BAR_S
    there = every[: round(seconds * RATE)] * 10 ** ((db + 12) / 20)
    came = np.zeros(len(there), np.float32)
    came[DELAY:] += there[:-DELAY]
    came[DELAY + 313 :] += 0.3 * there[: -DELAY - 313]
    return came, Grid((zero + DELAY) / RATE, PULSE.beat_s)


def cleaned(filter_: ChordLeak, samples: NDArray[np.float32], block: int) -> NDArray[np.float32]:
    return np.concatenate([filter_.clean(samples[at : at + block]) for at in range(0, len(samples), block)])


def told(grid: Grid, level_db: float = 0.0) -> ChordLeak:
    """A filter that knows of the pulse, and where it lies."""
    leak = ChordLeak(RATE)
    leak.follow(PULSE, level_db)
    leak.lies(grid)
    return leak


def of_a_quicker_clock(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """As a clock hears them that runs 50 ppm beside the one that played."""
    return np.interp(np.arange(len(samples) - 50) * (1 + 5e-5), np.arange(len(samples)), samples).astype(np.float32)


def db(samples: NDArray[np.floating]) -> float:
    return float(10 * np.log10(np.mean(np.asarray(samples, np.float64) ** 2) + 1e-20))


def bars(samples: NDArray[np.floating], grid: Grid, *which: int) -> NDArray[np.floating]:
    begin = [round((grid.zero_s + (1 + bar) * BAR_S) * RATE) for bar in which]
    return np.concatenate([samples[at : at + round(BAR_S * RATE)] for at in begin])


@pytest.mark.parametrize(("error_s", "block"), [(0.0, 1536), (0.004, 384), (-0.004, 1536)])
def test_a_chord_that_comes_back_is_taken_off_at_once(error_s: float, block: int) -> None:
    came, grid = back(7 * BAR_S, db=-45)
    leak = told(Grid(grid.zero_s + error_s, grid.beat_s))
    made = cleaned(leak, came, block)
    gone = db(bars(came, grid, 2, 3, 4, 5)) - db(bars(made, grid, 2, 3, 4, 5))
    print(f"grid {1000 * error_s:+.0f} ms off: down by {gone:.1f} dB")
    assert leak.learned == 2
    assert gone > 15.0


def test_under_a_note_as_well() -> None:
    came, grid = back(8 * BAR_S, db=-45)
    at = np.arange(len(came)) / RATE
    begins = grid.zero_s + 5 * BAR_S + 0.3
    string = (0.2 * np.sin(2 * np.pi * 247.1 * at) * np.exp(-(at - begins)) * (at > begins)).astype(np.float32)
    leak = told(grid)
    made = cleaned(leak, came + string, 1536)
    assert db(bars(made - string, grid, 4, 5, 6)) < db(bars(came, grid, 4, 5, 6)) - 12


def test_before_the_grid_is_known_nothing_is_touched() -> None:
    samples = np.ones(512, np.float32)
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    assert leak.clean(samples) is samples
    leak.lies(Grid(0.0, 0.6))
    leak.follow(None)
    assert leak.clean(samples) is samples


@pytest.mark.parametrize("moved_s", [0.0, 0.1])
def test_a_grid_that_jumps_is_believed_only_if_the_sound_has_moved(moved_s: float) -> None:
    """A busy machine tells of a late beat where none was late; where the output ran dry, it was."""
    came, grid = back(9 * BAR_S, db=-45)
    cut = round((grid.zero_s + 4.6 * BAR_S) * RATE)
    came = np.concatenate([came[:cut], np.zeros(round(moved_s * RATE), np.float32), came[cut:]])
    leak = told(grid)
    first = cleaned(leak, came[:cut], 384)
    leak.lies(Grid(grid.zero_s + 0.1, grid.beat_s))
    made = np.concatenate([first, cleaned(leak, came[cut:], 384)])
    soon = slice(cut + round(0.6 * RATE), cut + round(2.8 * RATE))
    assert leak.learned == 2
    assert db(made[soon]) < db(came[soon]) - 20


def test_a_click_is_known_after_the_first_and_taken_off_under_a_string() -> None:
    came, grid = back(3 * BAR_S, db=-40)
    zero = round(grid.zero_s * RATE)
    beat = round(PULSE.beat_s * RATE)
    string = 0.05 * np.sin(2 * np.pi * 196.0 * np.arange(zero + beat) / RATE)
    path = ClickPath(PULSE, RATE)
    path.learn(-zero, came[: zero + beat // 4].astype(np.float64))
    assert path.known
    first_off_beat = slice(zero + beat // 4, zero + beat - 2400)
    heard = came + np.pad(string, (0, len(came) - len(string)))
    left = heard[first_off_beat] - path.expected(beat // 4, first_off_beat.stop - first_off_beat.start)
    assert db(left - string[first_off_beat]) < db(came[first_off_beat]) - 25


def test_before_a_click_is_known_it_is_hushed_to_the_level_of_the_room_and_a_string_is_not() -> None:
    came, grid = back(3 * BAR_S, db=-32)
    zero = round(grid.zero_s * RATE)
    hiss = np.random.default_rng(440).normal(0, 10 ** (-70 / 20), zero + 4800)
    path = ClickPath(PULSE, RATE)
    before, after = hiss[:zero].copy(), hiss[zero:] + came[zero : zero + 4800]
    path.hush(-zero, before[:-480])
    path.hush(-480, before[-480:])
    path.hush(0, after)
    assert -75 < db(after[:2600]) < -60 < db(came[zero : zero + 2600]) - 5
    struck = 0.05 * np.sin(2 * np.pi * 196.0 * np.arange(4800) / RATE)
    as_it_was = struck.copy()
    ClickPath(PULSE, RATE).hush(0, struck)
    assert np.array_equal(struck[256:], as_it_was[256:])


def test_a_click_after_a_dead_block_is_hushed_to_the_level_of_the_room_and_not_to_silence() -> None:
    """After digital silence the room's own hiss would be news to the ear."""
    came, grid = back(3 * BAR_S, db=-32)
    zero = round(grid.zero_s * RATE)
    hiss = np.random.default_rng(440).normal(0, 10 ** (-70 / 20), 10_600)
    path = ClickPath(PULSE, RATE)
    path.hush(-9600, hiss[:4800])
    path.hush(-4800, np.zeros(3800))
    after = hiss[4800:]
    after[1000:] += came[zero : zero + 4800]
    path.hush(-1000, after)
    assert -75 < db(after[1000:3600]) < -60 < db(came[zero : zero + 2600]) - 5


@pytest.mark.parametrize("dead", [512, 504], ids=["a whole block", "all but the end of one"])
@pytest.mark.parametrize("told_at_once", [True, False], ids=["the grid is told", "it is not told yet"])
def test_after_a_dead_block_the_hiss_of_the_room_stays(told_at_once: bool, dead: int) -> None:
    """A driver's block of zeros was held for the room: all that was soft was wiped out for good."""
    leak = ChordLeak(RATE)
    leak.follow(PULSE, -20.0)
    if told_at_once:
        leak.lies(Grid(0.1, PULSE.beat_s))
    hiss = np.random.default_rng(0).normal(0, 1e-3, 5 * RATE).astype(np.float32)
    hiss[:dead] = 0.0
    made = cleaned(leak, hiss, 512)[512:]
    assert min(db(made[at : at + 512]) for at in range(0, len(made) - 512, 512)) > db(hiss) - 6


def test_a_chord_is_known_within_its_first_beat() -> None:
    came, grid = back(3 * BAR_S + 0.1, db=-45)
    leak = told(grid)
    for bar, known in ((1, 1), (2, 2)):
        cleaned(leak, came[leak._heard : round((grid.zero_s + bar * BAR_S + PULSE.beat_s) * RATE)], 384)
        assert leak.learned == known


def test_what_never_comes_back_is_never_taken_off() -> None:
    """A string in tune with the chord, all through the count-in and after, and no leak at all."""
    _, grid = back(4 * BAR_S, db=-45)
    at = np.arange(round(4 * BAR_S * RATE)) / RATE
    tones = sum(np.sin(2 * np.pi * n * ONE[0] * at) / n for n in range(1, 9))
    string = (0.1 * tones * np.exp(-((at - 0.3) % 1.1) / 0.8)).astype(np.float32)
    leak = told(grid)
    assert db(cleaned(leak, string, 384) - string) < db(string) - 30


@pytest.mark.parametrize("later", [-240, 48, 700])
def test_an_output_that_comes_later_than_the_grid_tells_is_followed_at_once(later: int) -> None:
    """It ran dry for a few milliseconds: the chord that sounds tells by how much, and all others move with it."""
    came, grid = back(9 * BAR_S, db=-45)
    cut = round((grid.zero_s + 4.6 * BAR_S) * RATE)
    moved = np.concatenate([came[:cut], np.zeros(max(0, later), np.float32), came[cut + max(0, -later) :]])
    leak = told(grid)
    made = cleaned(leak, moved, 384)
    assert db(bars(made, grid, 4, 5, 6)) < db(bars(came, grid, 4, 5, 6)) - 20
    soon = slice(cut + round(0.4 * RATE), cut + round(0.8 * RATE))
    assert db(made[soon]) < db(moved[soon]) - 15


def test_clocks_that_differ_are_followed() -> None:
    came, grid = back(12 * BAR_S, db=-45)
    drifting = of_a_quicker_clock(came)
    leak = told(grid)
    made = cleaned(leak, drifting, 384)
    assert db(bars(made, grid, 6, 7, 8, 9)) < db(bars(came, grid, 6, 7, 8, 9)) - 20


def test_another_level_is_no_other_way() -> None:
    came, grid = back(8 * BAR_S, db=-45)
    cut = round((grid.zero_s + 4 * BAR_S) * RATE)
    came[cut:] *= 2.0
    leak = told(grid, -20.0)
    first = cleaned(leak, came[:cut], 384)
    leak.follow(PULSE, -20.0 + 20 * float(np.log10(2.0)))
    made = np.concatenate([first, cleaned(leak, came[cut:], 384)])
    assert db(bars(made, grid, 3, 4, 5)) < db(bars(came, grid, 3, 4, 5)) - 25


def test_a_pulse_that_was_switched_off_is_not_heard_to_fade() -> None:
    came, grid = back(4 * BAR_S, db=-35)
    cut = round((grid.zero_s + 3 * BAR_S) * RATE)
    came[cut:] *= np.clip(1 - np.arange(len(came) - cut) / (0.3 * RATE), 0, 1)
    came += np.random.default_rng(440).normal(0, 10 ** (-75 / 20), len(came)).astype(np.float32)
    leak = told(grid)
    cleaned(leak, came[:cut], 384)
    leak.follow(None)
    made = cleaned(leak, came[cut : cut + RATE // 3], 384)
    assert db(made) < -70 < db(came[cut : cut + RATE // 3]) - 12


def test_lost_samples_move_nothing() -> None:
    came, grid = back(8 * BAR_S, db=-45)
    leak = told(grid)
    cut = round((grid.zero_s + 4.5 * BAR_S) * RATE)
    first = cleaned(leak, came[:cut], 1536)
    leak.skip(4800)
    second = cleaned(leak, came[cut + 4800 :], 1536)
    made = np.concatenate([first, np.zeros(4800, np.float32), second])
    assert db(bars(made, grid, 5, 6)) < db(bars(came, grid, 5, 6)) - 15


def after_clicks(samples: NDArray[np.floating], grid: Grid, *which: int) -> NDArray[np.floating]:
    """The 20 ms from each click on, of these beats counted from the first of the count-in."""
    begin = [round((grid.zero_s + beat * PULSE.beat_s) * RATE) for beat in which]
    return np.concatenate([samples[at : at + RATE // 50] for at in begin])


def test_clicks_are_taken_off_where_clocks_differ_from_the_first_click_on() -> None:
    """The first is heard in silence, and yet tells no better than the next where all comes a sample or two earlier."""
    came, grid = back(8 * BAR_S, db=-45)
    drifting = of_a_quicker_clock(came)
    leak = told(grid)
    made = cleaned(leak, drifting, 384)
    alone = db(after_clicks(came, grid, 0))
    assert db(after_clicks(made, grid, *range(12, 24))) < alone - 15


@pytest.mark.parametrize("late_s", [-0.01, 0.005, 0.02, 0.035])
def test_the_first_click_is_hushed_though_the_grid_is_told_in_the_middle_of_it(late_s: float) -> None:
    """As it comes through a real stream at 20 dB under the notes: it was heard as a string without a pitch."""
    came, grid = back(BAR_S, db=-26)
    came = np.concatenate([np.zeros(RATE // 2, np.float32), came])
    came += np.random.default_rng(440).normal(0, 10 ** (-75 / 20), len(came)).astype(np.float32)
    zero_s = grid.zero_s + 0.5
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    told = round((zero_s + late_s) * RATE)
    first = cleaned(leak, came[:told], 480)
    leak.lies(Grid(zero_s, grid.beat_s))
    made = np.concatenate([first, cleaned(leak, came[told : told + RATE // 4], 480)])
    click = made[round((zero_s - 0.02) * RATE) : round((zero_s + 0.15) * RATE)]
    assert max(db(click[at : at + 240]) for at in range(0, len(click) - 240, 240)) < -65


@pytest.mark.parametrize("late", [-150, 0, 250])
def test_what_is_left_of_a_known_click_is_hushed_wherever_in_its_window_it_comes(late: int) -> None:
    """A grid is told to some milliseconds; what a click may leave behind is reckoned from where it is loud."""
    came, grid = back(3 * BAR_S, db=-32)
    came = np.concatenate([np.zeros(RATE // 4, np.float32), came])
    zero = round((grid.zero_s + 0.25) * RATE) - late
    hiss = np.random.default_rng(440).normal(0, 10 ** (-85 / 20), len(came))
    path = ClickPath(PULSE, RATE)
    path.learn(-zero, came[: zero + RATE // 4].astype(np.float64))
    assert path.known
    left = 0.2 * came[zero : zero + 4800].astype(np.float64) + hiss[:4800]
    path.hush(-1000, hiss[:1000])
    path.hush(0, left)
    assert max(db(left[at : at + 240]) for at in range(0, 4800, 240)) < -80


@pytest.mark.parametrize("hidden_s", [-0.012, 0.0, 0.047])
def test_what_drivers_hide_of_the_way_is_heard_in_the_count_in(hidden_s: float) -> None:
    came, grid = back(2 * BAR_S, db=-40)
    came = np.concatenate([np.zeros(RATE // 2, np.float32), came])
    true_s = grid.zero_s + 0.5
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    leak.lies(Grid(true_s - hidden_s, grid.beat_s))
    assert leak.clicks_from_s is None
    cleaned(leak, came, 1536)
    assert leak.clicks_from_s == pytest.approx(true_s, abs=0.001)
    leak.lies(Grid(true_s, grid.beat_s), heard=True)
    leak.follow(None)
    assert leak.clicks_from_s is None


def test_a_grid_that_creeps_while_it_is_told_teaches_nothing_of_the_way() -> None:
    """A starved sound server told 93 ms more, by 3 ms at a time, while the clicks stood: -26 ms were kept as heard."""
    came, grid = back(4 * BAR_S, db=-40)
    came = np.concatenate([np.zeros(RATE // 2, np.float32), came])
    true_s, beat = grid.zero_s + 0.5, round(PULSE.beat_s * RATE)
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    for number, at in enumerate(range(0, len(came), beat)):
        leak.lies(Grid(true_s - 0.03 + 0.003 * number, grid.beat_s))
        leak.clean(came[at : at + beat])
        assert leak.clicks_from_s is None, f"at beat {number}"
    cleaned(leak, np.concatenate([came[-6 * beat :]] * 2), 1536)
    assert leak.clicks_from_s is not None, "once it stands again"


@pytest.mark.parametrize("clicks", [True, False], ids=["with clicks", "without"])
def test_an_input_that_goes_dead_while_chords_sound_and_comes_back_is_no_fault(clicks: bool) -> None:
    """Muted, or starved by its driver: exact zeros where what is known would come back.

    Where no click comes back nothing is taken off for it either, so that all of a window is zero.
    """
    came, grid = back(12 * BAR_S, db=-45)
    if not clicks:
        spectrum = np.fft.rfft(came)
        spectrum[np.fft.rfftfreq(len(came), 1 / RATE) > 2000.0] = 0.0
        hiss = np.random.default_rng(1).normal(0, 1e-4, len(came))  # in which what is left of a click is lost
        came = (np.fft.irfft(spectrum, len(came)) + hiss).astype(np.float32)
    dead = slice(*(round((grid.zero_s + (1 + bar) * BAR_S) * RATE) // 1536 * 1536 for bar in (5, 8)))
    came[dead] = 0.0
    leak = told(grid)
    made = cleaned(leak, came, 1536)
    assert not made[dead].any()
    assert leak.learned == 2
    assert db(bars(made, grid, 9, 10)) < db(bars(came, grid, 9, 10)) - 12
