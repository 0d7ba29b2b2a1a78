"""Chords and clicks of the pulse, measured in the samples by SciPy, which knows nothing of how they were made."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import butter, find_peaks, sosfiltfilt

from pedal.synth.backing import Backing
from pedal.theory.cents import hz_of
from pedal.theory.pulse import COUNT_IN_BEATS, OFF_BEATS, Pulse

RATE = 48_000
ONE, FOUR = (hz_of(55), hz_of(59), hz_of(62), hz_of(65)), (hz_of(48), hz_of(52), hz_of(55), hz_of(58))
CLICK_HZ = hz_of(103)
WITHIN_CENTS, WITHIN_S = 1.0, 0.001


def pulse(bpm: int, feel: str = "straight", bars: tuple[tuple[float, ...], ...] = (ONE, FOUR)) -> Pulse:
    return Pulse(bpm, bars, OFF_BEATS[feel], CLICK_HZ)  # type: ignore[index]


def played(
    wanted: Pulse, bars: int, *, peak_db: float = -12.0, level_db: float = -12.0
) -> tuple[NDArray[np.float64], int]:
    """Samples of so many bars with the count-in, and where its first beat lies."""
    backing = Backing(RATE, peak_db=peak_db)
    backing.follow(wanted, level_db)
    made = backing.render(round((bars + 1) * 4 * wanted.beat_s * RATE) + 4800)
    assert backing.beat_zero is not None
    return made.astype(np.float64), backing.beat_zero


def peaks_hz(stretch: NDArray[np.float64], low: float, high: float) -> NDArray[np.float64]:
    """Frequencies of the spectral peaks, by a parabola through the log magnitudes of a Gaussian window's transform."""
    n = len(stretch)
    window = np.exp(-0.5 * ((np.arange(n) - n / 2) / (n / 8)) ** 2)
    size = 8 * (1 << n.bit_length())
    spectrum = np.log(np.abs(np.fft.rfft(stretch * window, size)) + 1e-15)
    at, _ = find_peaks(spectrum, height=spectrum.max() - 4.0)
    a, b, c = spectrum[at - 1], spectrum[at], spectrum[at + 1]
    hz = (at + 0.5 * (a - c) / (a - 2 * b + c)) * RATE / size
    return hz[(hz > low) & (hz < high)]


def clicks_s(samples: NDArray[np.float64]) -> NDArray[np.float64]:
    """When something of the click's pitch begins, by the steepest rise of its band's power."""
    band = sosfiltfilt(butter(4, (0.8 * CLICK_HZ, 1.25 * CLICK_HZ), "bandpass", fs=RATE, output="sos"), samples)
    half = round(0.001 * RATE)
    power = np.convolve(band**2, np.ones(half), "same")
    jump = power[half:] - power[:-half]
    at, _ = find_peaks(jump, height=0.02 * jump.max(), distance=round(0.05 * RATE))
    return np.asarray(at / RATE)


@pytest.mark.parametrize("bpm", [40, 80, 123, 160])
@pytest.mark.parametrize("feel", ["straight", "shuffle"])
def test_every_click_falls_on_its_beat_or_off_beat(bpm: int, feel: str) -> None:
    wanted = pulse(bpm, feel)
    samples, zero = played(wanted, 2)
    found = clicks_s(samples) - zero / RATE
    beats = np.array([beat + part for beat in range(12) for part in (0.0, wanted.off_beat)]) * wanted.beat_s
    found = found[found < beats[-1] + 0.01]
    assert len(found) == len(beats)
    off = found - beats
    # What the measure itself adds is the same for each: the middle of a rise of half a millisecond.
    assert np.abs(off).max() < WITHIN_S, f"worst {1000 * np.abs(off).max():.3f} ms"
    print(f"{bpm} bpm {feel}: clicks off by {1000 * off.min():+.3f} to {1000 * off.max():+.3f} ms")


@pytest.mark.parametrize("bpm", [40, 120])
def test_chords_are_in_tune(bpm: int) -> None:
    wanted = pulse(bpm, bars=(ONE, FOUR, (hz_of(57), hz_of(60), hz_of(64))))
    samples, zero = played(wanted, 3)
    worst = 0.0
    for bar, chord in enumerate(wanted.bars, 1):
        begin = zero + round(4 * bar * wanted.beat_s * RATE)
        stretch = samples[begin + round(0.1 * RATE) : begin + round((4 * wanted.beat_s - 0.1) * RATE)]
        found = peaks_hz(stretch, 100, 2000)
        for hz in chord:
            off = 1200 * np.log2(found / hz)
            worst = max(worst, float(np.abs(off).min()))
    print(f"chords at {bpm} bpm: worst {worst:.3f} cents")
    assert worst < WITHIN_CENTS


def test_the_click_is_in_tune() -> None:
    samples, zero = played(pulse(80), 1)
    click = samples[zero : zero + round(0.06 * RATE)]  # the count-in: no chord sounds under it
    spectrum = np.abs(np.fft.rfft(click, 1 << 20))
    off = 1200 * np.log2(np.argmax(spectrum) * RATE / (1 << 20) / CLICK_HZ)
    print(f"click: {off:+.3f} cents")
    assert abs(off) < WITHIN_CENTS


@pytest.mark.parametrize("bpm", [40, 97, 160])
def test_a_chord_gives_way_to_the_next_on_the_beat(bpm: int) -> None:
    """Two notes, far apart: where the envelope of the one has come as far up as that of the other has gone down."""
    low, high = 130.8128, 588.66  # between the fourth and fifth harmonic of the other, as far as can be
    wanted = pulse(bpm, bars=((low,), (high,)))
    samples, zero = played(wanted, 3)
    t = np.arange(len(samples)) / RATE

    def envelope(hz: float) -> NDArray[np.float64]:
        turned = samples * np.exp(-2j * np.pi * hz * t)
        return np.abs(sosfiltfilt(butter(3, 40.0, fs=RATE, output="sos"), turned.real)
                      + 1j * sosfiltfilt(butter(3, 40.0, fs=RATE, output="sos"), turned.imag))  # fmt: skip

    out, comes = envelope(low), envelope(high)
    border = zero + round(8 * wanted.beat_s * RATE)  # from the first bar after the count-in to the second
    around = slice(border - round(0.04 * RATE), border + round(0.04 * RATE))
    full_out = out[border - round(0.3 * RATE) : border - round(0.1 * RATE)].mean()
    full_in = comes[border + round(0.1 * RATE) : border + round(0.3 * RATE)].mean()
    crossed = np.flatnonzero(comes[around] / full_in > out[around] / full_out)[0] - round(0.04 * RATE)
    print(f"{bpm} bpm: chords cross {1000 * crossed / RATE:+.3f} ms from the beat")
    assert abs(crossed) < WITHIN_S * RATE


@pytest.mark.parametrize("level_db", [-40.0, -12.0, 0.0])
def test_nothing_is_above_level_or_ceiling(level_db: float) -> None:
    samples, _ = played(pulse(160, "shuffle"), 4, peak_db=-12.0, level_db=level_db)
    assert np.abs(samples).max() <= 10 ** (min(level_db, -12.0) / 20)
    assert np.abs(samples).max() > 0.3 * 10 ** (min(level_db, -12.0) / 20)


def test_the_count_in_is_four_clicks_and_nothing_else() -> None:
    """A chord before the form has begun would be taken for its first."""
    wanted = pulse(60)
    samples, zero = played(wanted, 1)
    between = [samples[zero + round((beat + 0.6) * RATE) : zero + round((beat + 0.9) * RATE)] for beat in range(5)]
    assert [np.abs(beat).max() > 1e-6 for beat in between] == [False] * COUNT_IN_BEATS + [True]
    assert [wanted.chord(beat) for beat in range(COUNT_IN_BEATS + 1)] == [(), (), (), (), ONE]


def test_a_drone_fades_before_the_count_in_and_comes_back_after_the_pulse() -> None:
    backing = Backing(RATE, peak_db=-12.0)
    backing.sound(ONE, -20.0)
    backing.render(RATE)
    backing.follow(pulse(120), -20.0)
    backing.render(RATE)
    assert backing.beat_zero is not None and RATE < backing.beat_zero < 1.5 * RATE
    backing.sound((), -20.0)
    backing.render(RATE)
    assert backing.silent and backing.beat_zero is None


@pytest.mark.parametrize(("bpm", "bars", "level_db"), [(0, (ONE,), -20.0), (-3, (ONE,), -20.0), (80, (), -20.0),
                                                        (80, (ONE,), 3.0)])  # fmt: skip
def test_what_cannot_be_played_is_refused(bpm: int, bars: tuple[tuple[float, ...], ...], level_db: float) -> None:
    with pytest.raises(ValueError, match=r"pulse"):
        Backing(RATE).follow(Pulse(bpm, bars, 0.5, CLICK_HZ), level_db)


def test_whatever_the_blocks_the_samples_are_the_same() -> None:
    whole, _ = played(pulse(160), 2)
    backing = Backing(RATE, peak_db=-12.0)
    backing.follow(pulse(160), -12.0)
    parts = [backing.render(256 * n) for n in (1, 7, 2, 30) * 20]
    joined = np.concatenate(parts)
    n = min(len(joined), len(whole))
    assert np.abs(joined[:n] - whole[:n]).max() < 1e-6
