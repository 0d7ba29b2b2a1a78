"""What came back through the cable -> delay, lost samples, drift of the clocks, level, distortion, noise and hum."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.soundcheck.cable_signal import TONE_HZ, CableSignal
from pedal.soundcheck.levels import CLIPPED, db_of
from pedal.soundcheck.noise import LEAST_S, Noise, harmonic_waves, measure_noise
from pedal.values import frozen

ALIKE = 0.3
"""Likeness (a normalised correlation) from which a sweep is the one that was played: other sounds reach 0.1."""
WHOLE = 0.6
"""Likeness from which a mark is whole, even in loud noise; one with a gap in it is less like itself."""
LEAST_MARKS = 5
SEARCH_S = 0.18
"""How far from its place a mark is looked for: a mark more would be the next one."""
JUMP_SAMPLES = 2.0
"""Marks wander by less than a hundredth of a sample; what was lost or put in is whole samples, and blocks of them."""
PIECE_S = 0.02
"""Twenty periods of the tone: enough that hiss as loud as a faint tone moves a piece by less than a tenth."""
TORN, TORN_SCATTERS = 0.25, 8.0
"""A piece that differs from the one before by this share of the tone (a turn of two samples at 48 kHz, or a fifth of
it silent) and by so many times what neighbours usually do: more than hiss or a clock can."""
HARMONICS = 10
REACH, FINE = 16, 16
"""Samples on either side by which the summit of a likeness is drawn, and steps a sample it is looked for in."""


@frozen
class CableFigures:
    """Figures of one run.

    offset_samples : where the sound lies in the recording, less where it lay in what was played; the median of the
        later half of the marks, after what a stream does at its start.
    lost_samples, added_samples : gone missing between two marks, or put in; summed up over the run.
    holes : places where a mark is torn that nothing lost or put in explains (silence in place of sound), or the tone,
        whatever tore it. Level and distortion are of its longest whole stretch.
    drift_ppm : by how many millionths the input's clock is faster than the output's.
    gain_db : of the tone, back against sent.
    distortion_db, distortion_percent : harmonics 2 to 10 of the tone against the tone itself; the noise is not in it.
    inverted : what goes out positive comes back negative.
    clipped : the tone touches full scale.
    noise : while nothing was played; None where the beginning was not whole.
    """

    offset_samples: float
    lost_samples: int
    added_samples: int
    holes: int
    drift_ppm: float
    gain_db: float
    distortion_db: float
    inverted: bool
    clipped: bool
    noise: Noise | None

    @property
    def distortion_percent(self) -> float:
        """The same as a share of the tone's amplitude."""
        return float(100 * 10 ** (self.distortion_db / 20))


class NotHeardError(ValueError):
    """What was played did not come back: there is no cable, or no level."""


def measure_cable(signal: CableSignal, heard: NDArray[np.float32]) -> CableFigures:
    """Figures of a recording, a mono array that began no later than the signal, and at the same rate.

    Raises
    ------
    NotHeardError
        If the beginning or a mark is nowhere to be found.

    Notes
    -----
    On made recordings: offset within 0.3 sample, drift within 0.01 millionths, level within 0.05 dB, distortion within
    0.1 dB at 0.1 % (`tests/soundcheck/test_cable_figures.py`).
    """
    sound = heard.astype(np.float64)
    begin, likeness = _find(signal.begin_shape, sound)
    if abs(likeness) < ALIKE:
        raise NotHeardError("what was played does not come back")
    numbers, places = _marks(signal, sound, begin - signal.begin)
    if len(numbers) < LEAST_MARKS:
        raise NotHeardError("what was played comes back in pieces")
    marks = np.array(signal.marks, dtype=np.float64)[numbers]
    offsets = places - marks
    before_tone = offsets[marks < signal.tone[0]]  # all but one of them
    jumps = _jumps(marks, offsets)
    steady = offsets - np.concatenate([[0.0], np.cumsum(jumps)])
    slope = float(np.polyfit(marks, steady, 1)[0])
    tone = sound[max(0, round(signal.tone[0] + float(before_tone[-1]))) : round(signal.tone[1] + float(offsets[-1]))]
    whole, torn = _whole_stretch(tone, TONE_HZ / (1 + slope), signal.rate_hz)
    amplitude, harmonics = _harmonics(whole, TONE_HZ / (1 + slope), signal.rate_hz)
    sent = float(np.max(np.abs(signal.samples)))
    return CableFigures(
        offset_samples=float(np.median(offsets[len(offsets) // 2 :])),
        lost_samples=int(-jumps[jumps < 0].sum()),
        added_samples=int(jumps[jumps > 0].sum()),
        holes=_torn_marks(numbers, jumps, len(signal.marks)) + torn,
        drift_ppm=slope * 1e6,
        gain_db=db_of(amplitude / sent),
        distortion_db=db_of(harmonics / max(amplitude, 1e-12)),
        inverted=likeness < 0,
        clipped=bool(np.max(np.abs(tone), initial=0.0) >= CLIPPED),
        noise=_noise_before(sound, begin, signal),
    )


def _marks(
    signal: CableSignal, sound: NDArray[np.float64], offset: float
) -> tuple[NDArray[np.int_], NDArray[np.float64]]:
    """Which marks came back, by number, and where each lies, looked for beside where the one before it lay.

    A mark that is torn is left out: what tore it shows between its neighbours, or is a hole.
    """
    reach = round(SEARCH_S * signal.rate_hz)
    numbers: list[int] = []
    places: list[float] = []
    for number, mark in enumerate(signal.marks):
        first = max(0, round(mark + offset) - reach)
        found, likeness = _find(signal.mark_shape, sound[first : first + 2 * reach + len(signal.mark_shape)])
        if abs(likeness) < WHOLE:
            continue
        numbers.append(number)
        places.append(first + found)
        offset = places[-1] - mark
    return np.array(numbers, dtype=np.int_), np.array(places)


def _torn_marks(numbers: NDArray[np.int_], jumps: NDArray[np.float64], count: int) -> int:
    """How many marks are missing that no loss between their neighbours explains."""
    missing = np.diff(numbers) - 1
    return int(missing[jumps == 0].sum()) + int(numbers[0]) + count - 1 - int(numbers[-1])


def _whole_stretch(tone: NDArray[np.float64], hz: float, rate_hz: int) -> tuple[NDArray[np.float64], int]:
    """(the longest stretch of a tone without a break, how many places are broken).

    Amplitude and phase are taken of short pieces under a Hann window: silence makes a piece weaker, and samples that
    are gone or put in turn all after them.
    """
    length = round(PIECE_S * rate_hz)
    count = len(tone) // length
    if count < 3:
        return tone, 0
    turn = np.exp(-2j * np.pi * hz / rate_hz * np.arange(count * length))
    pieces = (tone[: count * length] * turn).reshape(count, length) @ np.hanning(length)
    strengths = np.abs(pieces)
    strong = max(float(np.quantile(strengths, 0.9)), 1e-12)
    steps = np.abs(np.diff(pieces)) / strong
    torn = steps > max(TORN, TORN_SCATTERS * float(np.median(steps)))
    ends = np.concatenate([[-1], np.flatnonzero(torn), [count - 1]])
    longest = int(np.argmax(np.diff(ends)))
    # What is silent lies between two breaks and is one place with them, and so are breaks side by side.
    places = np.flatnonzero(torn | (strengths[1:] < strong / 2))
    return (
        tone[(ends[longest] + 1) * length : (ends[longest + 1] + 1) * length],
        int(np.count_nonzero(np.diff(places, prepend=-3) > 2)),
    )


def _find(shape: NDArray[np.float64], sound: NDArray[np.float64]) -> tuple[float, float]:
    """(place of its first sample, likeness from -1 to 1) of a shape in a sound; (0, 0) if that is too short."""
    if len(sound) < len(shape):
        return 0.0, 0.0
    size = 1 << (len(sound) + len(shape)).bit_length()
    raw = np.fft.irfft(np.fft.rfft(sound, size) * np.conj(np.fft.rfft(shape, size)), size)
    raw = raw[: len(sound) - len(shape) + 1]
    running = np.concatenate([[0.0], np.cumsum(sound**2)])
    energy = running[len(shape) :] - running[: -len(shape)]
    # Where hardly anything sounds likeness is chance: half a bit of 16 is what a converter gives at rest.
    energy = np.maximum(energy, len(shape) * (2.0**-16) ** 2)
    alike = raw / np.sqrt(energy * np.sum(shape**2))
    at = int(np.argmax(np.abs(alike)))
    near = raw[max(0, at - REACH) : at + REACH + 1] * np.sign(raw[at])
    return at + _summit(near), float(alike[at])


def _summit(near: NDArray[np.float64]) -> float:
    """Where a band-limited curve is highest near the middle of these samples, from there; 0 at a border."""
    reach = len(near) // 2
    if len(near) != 2 * REACH + 1 or not 0 < int(np.argmax(near)) < 2 * REACH:
        return 0.0
    fine = np.arange(-FINE, FINE + 1) / FINE
    apart = fine[:, np.newaxis] - np.arange(-reach, reach + 1)
    curve = (np.sinc(apart) * np.cos(np.pi * apart / (2 * reach + 4)) ** 2) @ near
    top = int(np.clip(np.argmax(curve), 1, 2 * FINE - 1))
    left, middle, right = curve[top - 1 : top + 2].tolist()
    bend = left - 2 * middle + right
    return float(fine[top] + (0.5 * (left - right) / bend / FINE if bend < 0 else 0.0))


def _jumps(marks: NDArray[np.float64], offsets: NDArray[np.float64]) -> NDArray[np.float64]:
    """Whole samples by which each mark lies nearer (lost) or farther (put in) than the pace of all would have it."""
    steps, spacing = np.diff(offsets), np.diff(marks)
    pace = np.median(steps / spacing) * spacing
    return np.where(np.abs(steps - pace) >= JUMP_SAMPLES, np.round(steps - pace), 0.0)


def _harmonics(tone: NDArray[np.float64], hz: float, rate_hz: int) -> tuple[float, float]:
    """(amplitude of the tone, root of the sum of squares of its harmonics); the noise between them is left out."""
    if len(tone) < 0.1 * rate_hz:
        return 0.0, 0.0
    count = min(HARMONICS, int(0.45 * rate_hz / hz))
    waves = np.hstack([harmonic_waves(np.arange(len(tone)) / rate_hz, hz, count), np.ones((len(tone), 1))])
    # A Hann window keeps hum and what else sounds out of the harmonics.
    window = np.hanning(len(tone))
    weighted = waves * window[:, np.newaxis]
    found = np.linalg.solve(weighted.T @ weighted, weighted.T @ (tone * window))
    amplitudes = np.hypot(found[:count], found[count : 2 * count])
    return float(amplitudes[0]), float(np.sqrt(np.sum(amplitudes[1:] ** 2)))


def _noise_before(sound: NDArray[np.float64], begin: float, signal: CableSignal) -> Noise | None:
    last = round(begin - 0.05 * signal.rate_hz)
    quiet = sound[max(0, last - round(1.7 * signal.rate_hz)) : max(0, last)]
    if len(quiet) < LEAST_S * signal.rate_hz:
        return None
    return measure_noise(quiet.astype(np.float32), signal.rate_hz)
