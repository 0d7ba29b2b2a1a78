"""Samples -> how much of the sound one string cannot explain: evidence that a second one sounds."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.octave import MOST_ORDER, NEAR
from pedal.pitch.partial_filter import NYQUIST_SHARE
from pedal.pitch.partials import MOST_STIFFNESS
from pedal.pitch.search import HIGHEST_HZ, LOWEST_HZ
from pedal.values import frozen

Floats = NDArray[np.float64]

QUIET_DB = 40.0
"""Peaks so far below the strongest are noise, hum, or a string that merely rings along."""
BRIGHTNESS = 1.5
"""Energies are weighed by this power of frequency: a struck string is bright, one that is shaken along is dull."""
LOBE = 3.0
"""Half the main lobe of a Blackman window, in units of one over its length."""
OWN_SHARE = 0.4
"""Of the root: further off its multiple a peak is no partial."""


@frozen
class SecondString:
    """`root_hz`: fundamental of the one string that explains most, 0.0 if none; `share` of energy that it leaves.

    filled : share of the partials of the pitch that was heard that are there, up to the twelfth or the highest.
    """

    root_hz: float
    share: float
    filled: float = 0.0


def hear_second_string(samples: NDArray[np.float32], sample_rate: float, heard_hz: float = 0.0) -> SecondString:
    """The one string that explains most of the sound, and the brightness-weighed share of energy outside its partials.

    Parameters
    ----------
    samples : float32 array, shape (n,)
        0.2 s of a steady sound; less cannot tell a low string from its neighbour.
    sample_rate : float
        Samples a second, 8000 or more.
    heard_hz : float
        The pitch that the tracker hears, 0.0 if none. A string has nearly all of its partials; a pitch that two strings
        have in common has only those of either: a fourth the third, fourth, sixth, eighth, ninth and twelfth.

    Returns
    -------
    second_string
        Its share is near 0 for one string and for noise, 0.05 to 0.4 for two struck together a fourth apart.

    Notes
    -----
    Blind to octaves: every partial of the higher string is one of the lower.
    """
    hz, energy = _peaks(samples, sample_rate)
    if not len(hz):
        return SecondString(0.0, 0.0)
    bright = energy * (hz / LOWEST_HZ) ** BRIGHTNESS
    reach = LOBE / 2 * sample_rate / len(samples)
    strong = hz[hz < HIGHEST_HZ]  # a common subharmonic of two strings has no fundamental
    if not len(strong):
        return SecondString(0.0, 0.0)
    explained = _explained(strong, hz, bright, reach)
    best = int(explained.argmax())
    root = strong[explained == explained[best]].max()  # a lower one as good only borrows its partials
    return SecondString(
        float(root), max(0.0, 1.0 - float(explained[best])), _filled(heard_hz, hz) if heard_hz > 0.0 else 0.0
    )


def _filled(root_hz: float, hz: Floats) -> float:
    """Share of the partials of a pitch, up to `MOST_ORDER` or the highest there is, that are among the peaks."""
    numbers = np.round(hz / root_hz)
    own = (np.abs(hz - numbers * root_hz) < OWN_SHARE * root_hz) & (numbers >= 1) & (numbers <= MOST_ORDER)
    there = set(numbers[own].tolist())  # numpy's own `unique` loads a part of the library that nothing else here needs
    return len(there) / max(there) if there else 0.0


def _explained(roots: Floats, hz: Floats, bright: Floats, reach: float) -> Floats:
    """Share of the energy that lies on multiples of each root; shape (roots,)."""
    root = roots[:, np.newaxis]
    number = np.maximum(1.0, np.round(hz / root))
    within = np.maximum(reach, number * root * (NEAR + 0.5 * MOST_STIFFNESS * number**2))  # strings are stiff
    own = np.abs(hz - number * root) <= np.minimum(within, OWN_SHARE * root)
    return np.asarray((own @ bright) / bright.sum())


@cache
def _window(n: int) -> NDArray[np.float32]:
    return np.blackman(n).astype(np.float32)


def _peaks(samples: NDArray[np.float32], sample_rate: float) -> tuple[Floats, Floats]:
    """Frequencies and energies of the strongest spectral peaks; none if the sound is noise or silence."""
    n = 1 << (len(samples) - 1).bit_length()
    low, high = int(LOWEST_HZ * n / sample_rate), int(NYQUIST_SHARE * n)
    part = np.abs(np.fft.rfft(samples * _window(len(samples)), n)[low:high]).astype(np.float64) ** 2
    at = np.flatnonzero((part[1:-1] > part[:-2]) & (part[1:-1] >= part[2:])) + 1
    at = at[np.argsort(part[at])[::-1][: 2 * MOST_ORDER]]  # those of two strings
    at = at[part[at] > part.max() * 10 ** (-QUIET_DB / 10)]
    half = int(LOBE * n / len(samples))
    lobe = np.zeros(half + len(part) + half, bool)
    lobe[at[:, np.newaxis] + np.arange(2 * half + 1)] = True
    lobe = lobe[half : half + len(part)]
    if not 2.0 * part[lobe].sum() >= part.sum() > 0.0:  # of strings the better half lies in sharp peaks
        return np.zeros(0), np.zeros(0)
    return (at + low) * sample_rate / n, part[at]
