"""What is played into the cable: silence, a sweep down that marks the beginning, sweeps up at known places, a tone."""

from __future__ import annotations

from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from pedal.values import frozen

SILENCE_S, MARK_S, APART_S, MARKS = 2.0, 0.1, 0.5, 20
"""Twenty marks over ten seconds: a clock that is a millionth off moves the last one by half a sample. One more follows
the tone, and tells what was lost within it."""
BEGIN_S, TONE_S, END_S = 0.25, 2.0, 0.6
TONE_HZ = 997.0
"""The frequency that converters are measured at: no small fraction of a sample rate (AES17, from memory)."""
PEAK_DB = -12.0
"""As loud as a drone may be by default; the player is told to leave the headphones alone."""
LOW_HZ, HIGH_HZ = 200.0, 6000.0
"""Every guitar input passes this band whole."""
_FADE_S = 0.005


@frozen
class CableSignal:
    """The samples for one rate, and where everything lies, in samples from the first.

    begin : of the sweep down; its shape is `begin_shape`.
    marks : of the sweeps up, all of one shape, `mark_shape`.
    tone : first sample and the one after the last, at full level.
    """

    rate_hz: int
    samples: NDArray[np.float32] = field(repr=False)
    begin: int
    begin_shape: NDArray[np.float64] = field(repr=False)
    marks: tuple[int, ...]
    mark_shape: NDArray[np.float64] = field(repr=False)
    tone: tuple[int, int]

    @property
    def seconds(self) -> float:
        """How long it sounds."""
        return len(self.samples) / self.rate_hz


def cable_signal(rate_hz: int, *, peak_db: float = PEAK_DB) -> CableSignal:
    """The signal at a sample rate, 8 kHz or more; its highest sample is `peak_db` dBFS.

    Raises
    ------
    ValueError
        If the rate cannot carry it, or the peak is above 0 dBFS.
    """
    if rate_hz < 8000 or peak_db > 0.0:
        raise ValueError(f"a rate of 8000 Hz or more and a peak of 0 dBFS or less, got {rate_hz} Hz, {peak_db} dBFS")
    high_hz = min(HIGH_HZ, 0.4 * rate_hz)
    begin_shape = _sweep(high_hz, LOW_HZ, BEGIN_S, rate_hz)
    mark_shape = _sweep(LOW_HZ, high_hz, MARK_S, rate_hz)
    begin = round(SILENCE_S * rate_hz)
    marks = tuple(begin + round((BEGIN_S + 0.25 + APART_S * number) * rate_hz) for number in range(MARKS))
    tone = marks[-1] + round(APART_S * rate_hz)
    seconds = np.arange(round(TONE_S * rate_hz)) / rate_hz
    marks = (*marks, tone + len(seconds) + round(MARK_S * rate_hz))
    samples = np.zeros(marks[-1] + len(mark_shape) + round(END_S * rate_hz))
    samples[begin : begin + len(begin_shape)] = begin_shape
    for mark in marks:
        samples[mark : mark + len(mark_shape)] = mark_shape
    samples[tone : tone + len(seconds)] = _faded(np.sin(2 * np.pi * TONE_HZ * seconds), rate_hz)
    played = (samples * 10 ** (peak_db / 20)).astype(np.float32)
    played.setflags(write=False)
    inside = round(4 * _FADE_S * rate_hz)
    return CableSignal(
        rate_hz, played, begin, begin_shape, marks, mark_shape, (tone + inside, tone + len(seconds) - inside)
    )


def _sweep(from_hz: float, to_hz: float, seconds: float, rate_hz: int) -> NDArray[np.float64]:
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    phase = 2 * np.pi * (from_hz * t + (to_hz - from_hz) * t**2 / (2 * seconds))
    return _faded(np.sin(phase), rate_hz)


def _faded(wave: NDArray[np.float64], rate_hz: int) -> NDArray[np.float64]:
    """Without clicks at its ends."""
    count = round(_FADE_S * rate_hz)
    slope = (1 - np.cos(np.pi * (np.arange(count) + 0.5) / count)) / 2
    wave = wave.copy()
    wave[:count] *= slope
    wave[-count:] *= slope[::-1]
    return wave
