"""Chords in time that come back into the input: learned in pauses, and taken off from bar to bar, also under notes."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from pedal.pitch.chord_leak import ChordLeak
from pedal.pitch.click_hush import ClickHush
from pedal.synth.backing import Backing
from pedal.theory.cents import hz_of
from pedal.theory.pulse import Grid, Pulse

RATE = 48_000
ONE, FOUR = tuple(map(hz_of, (55, 59, 62, 65))), tuple(map(hz_of, (48, 52, 55, 58)))
PULSE = Pulse(100, (ONE, FOUR), 0.5, hz_of(103))
BAR_S = 2.4
DELAY = 580


def back(seconds: float, *, db: float) -> tuple[NDArray[np.float32], Grid]:
    """What comes back, so loud at its peak, after a delay and with an echo; and where its beats lie."""
    voice = Backing(RATE, peak_db=-12.0)
    voice.follow(PULSE, -12.0)
    there = voice.render(round(seconds * RATE)) * 10 ** ((db + 12) / 20)
    came = np.zeros(len(there), np.float32)
    came[DELAY:] += there[:-DELAY]
    came[DELAY + 313 :] += 0.3 * there[: -DELAY - 313]
    assert voice.beat_zero is not None
    return came, Grid((voice.beat_zero + DELAY) / RATE, PULSE.beat_s)


def cleaned(filter_: ChordLeak, samples: NDArray[np.float32], block: int) -> NDArray[np.float32]:
    return np.concatenate([filter_.clean(samples[at : at + block]) for at in range(0, len(samples), block)])


def db(samples: NDArray[np.floating]) -> float:
    return float(10 * np.log10(np.mean(np.asarray(samples, np.float64) ** 2) + 1e-20))


def bars(samples: NDArray[np.floating], grid: Grid, *which: int) -> NDArray[np.floating]:
    begin = [round((grid.zero_s + (1 + bar) * BAR_S) * RATE) for bar in which]
    return np.concatenate([samples[at : at + round(BAR_S * RATE)] for at in begin])


@pytest.mark.parametrize(("error_s", "block"), [(0.0, 1536), (0.004, 384), (-0.004, 1536)])
def test_a_chord_that_comes_back_is_taken_off_at_once(error_s: float, block: int) -> None:
    came, grid = back(7 * BAR_S, db=-45)
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    leak.lies(Grid(grid.zero_s + error_s, grid.beat_s))
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
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    leak.lies(grid)
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


def test_an_output_that_ran_dry_is_learned_anew() -> None:
    came, grid = back(5 * BAR_S, db=-45)
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    leak.lies(grid)
    cleaned(leak, came, 1536)
    assert leak.learned == 2
    leak.lies(Grid(grid.zero_s + 0.1, grid.beat_s))
    assert leak.learned == 0


def test_clicks_are_hushed_and_a_string_struck_on_the_beat_is_not() -> None:
    came, grid = back(3 * BAR_S, db=-40)
    count_in = came[: round((grid.zero_s + BAR_S - 0.05) * RATE)]
    hush = ClickHush(RATE)
    made = hush.clean(count_in.copy(), 0, grid, PULSE.off_beat)
    assert db(made) < db(count_in) - 25
    struck = np.zeros(round(0.2 * RATE), np.float32)
    struck[: round(0.1 * RATE)] = 0.05 * np.sin(2 * np.pi * 196.0 * np.arange(round(0.1 * RATE)) / RATE)
    on_the_beat = round((grid.zero_s + BAR_S) * RATE)
    assert np.array_equal(hush.clean(struck.copy(), on_the_beat, grid, PULSE.off_beat)[256:4000], struck[256:4000])


def test_lost_samples_move_nothing() -> None:
    came, grid = back(8 * BAR_S, db=-45)
    leak = ChordLeak(RATE)
    leak.follow(PULSE)
    leak.lies(grid)
    cut = round((grid.zero_s + 4.5 * BAR_S) * RATE)
    first = cleaned(leak, came[:cut], 1536)
    leak.skip(4800)
    second = cleaned(leak, came[cut + 4800 :], 1536)
    made = np.concatenate([first, np.zeros(4800, np.float32), second])
    assert db(bars(made, grid, 5, 6)) < db(bars(came, grid, 5, 6)) - 15
