"""The pedal's own pulse in the guitar's input: as many notes are judged as without it, and no other ones.

Levels are peak to peak: the ceiling of the pulse beside the loudest note. It begins a fifth of a second after the
stream, and the first note comes in its count-in.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from pedal.live.ear import Ear
from pedal.modes.drone import DroneOrder
from pedal.synth.backing import Backing
from pedal.synth.drills import SCENES
from pedal.theory.cents import hz_of
from pedal.theory.pulse import Grid, Pulse
from pedal.theory.scale import Key, parse_key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.grids import grid
from tests.sound_server.sampled_guitar import CLEAN_GUITAR, STEEL_GUITAR, Sounded, font, render

RATE = 48_000
LEVEL_DB = -12.0
DELAY, BEGINS_S = 580, 0.2
ONE, FOUR, FIVE = (tuple(map(hz_of, midis)) for midis in ((55, 59, 62, 65), (48, 52, 55, 58), (50, 54, 57, 60)))
TWELVE_BARS = (ONE, ONE, ONE, ONE, FOUR, FOUR, ONE, ONE, FIVE, FOUR, ONE, FIVE)
BENDS = ((60, 0.2, 200.0), (65, 0.25, 200.0), (67, 0.3, 300.0), (60, 0.15, 200.0), (55, 0.3, 300.0), (62, 0.2, 300.0))
NO_LEAK = -200.0
Samples = NDArray[np.float64]


def with_pulse(take: Samples, pulse: Pulse, db: float) -> tuple[NDArray[np.float32], Grid]:
    """The take with the pulse in it, `db` beside its loudest sample, with an echo; and where its first beat lies."""
    voice = Backing(RATE, peak_db=LEVEL_DB)
    voice.follow(pulse, LEVEL_DB)
    begins = round(BEGINS_S * RATE)
    came = voice.render(len(take)) * 10 ** ((db - LEVEL_DB) / 20) * np.abs(take).max()
    heard = take.copy()
    for late, share in ((DELAY, 1.0), (DELAY + 313, 0.3)):
        heard[begins + late :] += share * came[: len(take) - begins - late]
    assert voice.beat_zero is not None
    return heard.astype(np.float32), Grid((voice.beat_zero + begins + DELAY) / RATE, pulse.beat_s)


def verdicts(
    heard: NDArray[np.float32], key: Key, pulse: Pulse | None = None, grid: Grid | None = None
) -> list[Verdict]:
    ear = Ear(RATE, Aim(key), drone=pulse is not None)
    if pulse is not None:
        ear.expect(DroneOrder((), LEVEL_DB, pulse))
        ear.lies(grid)
    every = [one for at in range(0, len(heard), 384) for one in ear.judge(ear.clean(heard[at : at + 384]))]
    return [one for one in every + ear.finish() if isinstance(one, Verdict)]


def names(every: list[Verdict]) -> list[tuple[str, str | None, str | None]]:
    return [(one.kind, one.rest_note, one.target_note) for one in every]


@cache
def sampled(program: int) -> tuple[Samples, list[float]]:
    if font() is None:
        pytest.skip("no General MIDI sound font here: install timgm6mb-soundfont")
    notes = [Sounded(midi, ((0.35, 0.0), (rise_s, cents), (0.6, cents))) for midi, rise_s, cents in BENDS * 2]
    return render(notes, program=program, gap_s=0.55)


@cache
def sampled_alone(program: int) -> list[Verdict]:
    return verdicts(sampled(program)[0].astype(np.float32), parse_key("G minor pentatonic"))


SLOW, QUICK = (80, 1 / 2, (ONE,)), (120, 2 / 3, TWELVE_BARS)
HARDEST = [(CLEAN_GUITAR, -20.0, QUICK), (STEEL_GUITAR, -20.0, QUICK)]
SAMPLED = grid(
    (CLEAN_GUITAR, STEEL_GUITAR),
    (NO_LEAK, -30.0, -20.0),
    (SLOW, QUICK),
    each=3,
    hardest=[*HARDEST, (STEEL_GUITAR, -30.0, SLOW)],
)


@pytest.mark.parametrize(("program", "db", "played"), SAMPLED)
def test_sampled_bends_are_all_judged_and_nothing_else(
    program: int, db: float, played: tuple[int, float, tuple[tuple[float, ...], ...]]
) -> None:
    take, onsets = sampled(program)
    bpm, off_beat, bars = played
    pulse = Pulse(bpm, bars, off_beat, hz_of(103))
    heard, grid = with_pulse(take, pulse, db)
    every = verdicts(heard, parse_key("G minor pentatonic"), pulse, grid)
    assert [one.kind for one in every] == ["bend"] * len(onsets)
    assert np.abs(np.array([one.onset_s for one in every]) - onsets).max() < 0.03
    clean = sampled_alone(program)
    off = [abs((one.error_cents or 0.0) - (two.error_cents or 0.0)) for one, two in zip(every, clean, strict=True)]
    assert max(off) < 3.0


@pytest.mark.parametrize(("bars", "ppm"), grid([(ONE,), TWELVE_BARS], [50, -50], each=2))
def test_two_devices_with_a_clock_each_are_no_harder(ppm: int, bars: tuple[tuple[float, ...], ...]) -> None:
    """Quartz differs by some 50 ppm (common practice, no source): over a chorus chords come two milliseconds off."""
    take, onsets = sampled(CLEAN_GUITAR)
    hiss = np.random.default_rng(440).normal(0, 10 ** (-80 / 20), 3 * RATE)
    take = np.concatenate([hiss, take])  # the count-in is over by then
    pulse = Pulse(80, bars, 1 / 2, hz_of(103))
    heard, grid = with_pulse(take, pulse, -20.0)
    leak = heard - take
    there = np.arange(len(leak)) * (1 + 1e-6 * ppm)
    heard = (take + np.interp(there, np.arange(len(leak)), leak)).astype(np.float32)
    every = verdicts(heard, parse_key("G minor pentatonic"), pulse, grid)
    assert [one.kind for one in every] == ["bend"] * len(onsets)


@cache
def modelled(mode: str) -> tuple[Samples, Key, list[tuple[str, str | None, str | None]]]:
    """A performance, its key, and what is told of it alone."""
    scene = SCENES[mode]()
    take = scene.samples(sample_rate=RATE, rng=np.random.default_rng(7)).astype(np.float64)
    take = np.concatenate([np.zeros(RATE), take * 0.5 / np.abs(take).max()])
    return take, scene.key, names(verdicts(take.astype(np.float32), scene.key))


@pytest.mark.parametrize(("mode", "db"), grid(("ladder", "watch", "curl"), (NO_LEAK, -30.0, -20.0), each=3))
def test_a_modelled_performance_is_judged_as_without_the_pulse(mode: str, db: float) -> None:
    take, key, alone = modelled(mode)
    pulse = Pulse(100, TWELVE_BARS, 1 / 2, hz_of(103))
    heard, grid = with_pulse(take, pulse, db)
    assert len(alone) >= 10
    assert names(verdicts(heard, key, pulse, grid)) == alone
