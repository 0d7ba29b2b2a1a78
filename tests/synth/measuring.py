"""The pitch of a sound by means that are not ours: the analytic signal of SciPy around the first partial."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, hilbert, sosfiltfilt


def first_partial_hz(samples: NDArray[np.float32], sample_rate: int, near_hz: float) -> NDArray[np.float64]:
    """Frequency at each sample of what sounds within a fourth either side of `near_hz`."""
    band = butter(8, [near_hz / 1.3, near_hz * 1.3], "bandpass", fs=sample_rate, output="sos")
    phase = np.unwrap(np.angle(hilbert(sosfiltfilt(band, samples.astype(np.float64)))))
    hz = np.gradient(phase) * sample_rate / (2 * np.pi)
    # What leaks through of the second partial ripples once a period: a mean over one period takes it out.
    period = round(sample_rate / near_hz)
    return np.convolve(hz, np.ones(period) / period, mode="same")


def error_cents(heard_hz: NDArray[np.float64], true_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Signed, sample by sample."""
    return 1200 * np.log2(np.maximum(heard_hz, 1.0) / true_hz)
