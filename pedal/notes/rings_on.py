"""The sound on both sides of a strike -> whether the string that sounded rings on as if nobody had struck it.

A string that is plucked begins a new wave, whose partials have phases and strengths of their own. Where a neighbour is
brushed, or the guitar is knocked, the partials of the string that sounds go on from where they were.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.notes.bins import PICK_S
from pedal.pitch.partial_filter import NYQUIST_SHARE
from pedal.pitch.partials import FIRST_STIFFNESS

SEEN_S = 0.040
"""So much is looked at on either side, from half of `PICK_S` off the strike."""
TURNED_CENTS = (0.0, -8.0, 8.0, -16.0, 16.0)
"""So far a hand that swings, or goes on bending, may have moved the pitch meanwhile."""
MOST_PARTIALS = 8
"""The fewer there are, the likelier a new wave looks like the old one."""
RINGS_ON, OF_FEW = 0.78, 0.88

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def rings_on(sound: NDArray[np.float32], rate_hz: float, struck_s: float, hz: float) -> bool:
    """Whether the partials after a strike are those of before.

    Parameters
    ----------
    sound : float32 array, shape (n,)
        From `SEEN_S` before the strike, if there is so much, to at least half of it after.
    rate_hz : float
        Samples a second.
    struck_s : float
        When it was struck, seconds since the first sample.
    hz : float
        The pitch before it, > 0.
    """
    struck, apart, seen = (round(seconds * rate_hz) for seconds in (struck_s, PICK_S / 2, SEEN_S))
    before = sound[max(0, struck - apart - seen) : max(0, struck - apart)]
    after = sound[struck + apart : struck + apart + seen]
    if 2 * min(len(before), len(after)) < seen:
        return False
    orders = np.arange(1, 1 + max(1, min(MOST_PARTIALS, int(NYQUIST_SHARE * rate_hz / hz))))
    turns = hz / rate_hz * orders * np.sqrt((1 + FIRST_STIFFNESS * orders**2) / (1 + FIRST_STIFFNESS))
    was = _partials(before, -apart - len(before), turns)
    least = RINGS_ON if _are_many(was) else OF_FEW
    return any(likeness(was, _partials(after, apart, turns * 2.0 ** (cents / 1200))) > least for cents in TURNED_CENTS)


def likeness(was: Complexes, now: Complexes) -> float:
    """The share of the partials' strengths that both have in common and in step, from -1 to 1.

    Where more than half of `MOST_PARTIALS` are heard the one that fits least is left out: another string may share it.
    """
    strengths = np.abs(was), np.abs(now)
    common = np.minimum(*strengths) * np.cos(np.angle(was) - np.angle(now))
    every = np.maximum(*strengths)
    shares = [np.sum(common) / (np.sum(every) + 1e-12)]
    if _are_many(was):
        shares += [*((np.sum(common) - common) / (np.sum(every) - every + 1e-12))]
    return float(max(shares))


def _are_many(partials: Complexes) -> bool:
    return 2 * len(partials) > MOST_PARTIALS


def _partials(samples: NDArray[np.float32], first: int, turns: Floats) -> Complexes:
    """Amplitudes, by least squares, of partials that turn so far a sample; their phases are those at sample 0.

    first : the number of the first of `samples`.
    """
    waves = np.exp(2j * np.pi * np.outer(first + np.arange(len(samples)), turns))
    window = np.hanning(len(samples) + 2)[1:-1]
    columns = np.hstack([waves.real, -waves.imag]) * window[:, np.newaxis]
    found = np.linalg.lstsq(columns, samples * window, rcond=None)[0]
    return np.asarray(found[: len(turns)] + 1j * found[len(turns) :])
