"""A stretch of sound in which one known chord plays -> how each of its partials came back, and how far to believe it.

The drone's voice is known to the last phase, so what is not known of a chord that comes back is one complex number a
partial: by how much weaker and later it came. Partials too near to be told apart share one. A stretch is looked at
through a Hann window, and once more through a window that is odd about its middle: what comes back stands still, and
leaves nothing there. A string does: it decays, and a third of a cent off turns its phase.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.leak.drone_leak import STRETCH_S
from pedal.theory.voice import Floats, Partials

CHUNK = 128
UNSTEADY = 10.0
"""What changes by 1 in a window may be a string of so many: a slow one loses a tenth in a fifth of a second."""
_RIDGE = 1e-3

Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What a window tells of some lines: their numbers, how each came back, and the variance of that."""

    lines: NDArray[np.intp]
    ways: Complexes
    doubts: Floats


def lines_of(chords: Iterable[Partials]) -> Floats:
    """The lowest frequency of each line, rising: partials of all chords that are told apart.

    Those nearer than one over the window share a number; so do those that chords have nearly in common.
    """
    lines: list[float] = []
    for hz in sorted(hz for chord in chords for hz in chord.hz):
        if not lines or hz - lines[-1] >= 1 / STRETCH_S:
            lines.append(hz)
    return np.array(lines)


class ChordFit:
    """One chord. `.see(window, at_s)` learns, `.wave(ways, at_s, count)` gives what comes back.

    lines : as `lines_of` gives them, shape (m,); `ways` of all lines are complex, shape (m,).
    at_s : of the first sample, counted from the first beat.
    """

    def __init__(self, partials: Partials, rate: int, lines: Floats) -> None:
        rising = np.argsort(partials.hz, kind="stable")
        hz, weights = partials.hz[rising], partials.weights[rising]
        self._rate, self._turns = rate, hz / rate
        # As amplitude and phase of a cosine at the first beat.
        self._sent = weights * np.exp(2j * np.pi * (partials.first_turns[rising] - 0.25))
        self._which = np.searchsorted(lines, hz + 1e-9) - 1
        self.lines, self._firsts, self._own = np.unique(self._which, return_index=True, return_inverse=True)
        self.length = CHUNK * round(STRETCH_S * rate / CHUNK)
        self.power = float(0.5 * np.sum(weights**2))
        """Of the chord as it is sent, at full level."""
        self.powers: Floats = np.bincount(self._which, weights**2 / 2, len(lines)).astype(np.float64)
        """The same of each line."""
        self._steps = np.exp(2j * np.pi * np.outer(self._turns, np.arange(CHUNK)))
        # Real and imaginary parts lie beside each other: against real samples that is half the work.
        self._back = np.ascontiguousarray(self._steps.conj().T).view(np.float64)
        chunks = np.outer(np.arange(self.length // CHUNK) * CHUNK, self._turns)
        self._chunks_back = np.exp(-2j * np.pi * chunks)
        at = np.arange(self.length)
        even = 0.5 - 0.5 * np.cos(2 * np.pi * (at + 0.5) / self.length)
        odd = even * ((at + 0.5) / self.length - 0.5)
        self._windows = np.array([even, odd])
        apart = self._turns[None, :] - self._turns[:, None]
        mix = 0.5 * _hann(apart, self.length)
        self._mix_back, self._mixed = mix.conj().T, mix.conj().T @ mix
        self._slope = 0.5 * float(np.sum(odd * ((at + 0.5) / self.length - 0.5)))
        strongest = [np.flatnonzero(self._which == line) for line in self.lines]
        self._loudest = np.array([each[np.argmax(weights[each])] for each in strongest])
        self._odd_mix = 0.5 * _odd_hann(apart, self.length)[self._loudest]

    def _looked_at(self, window: Floats) -> Complexes:
        """What each partial's frequency holds, through the even and the odd window: shape (2, n)."""
        inner = ((self._windows * window).reshape(-1, CHUNK) @ self._back).view(np.complex128)
        return np.asarray(np.einsum("wkn,kn->wn", inner.reshape(2, -1, len(self._turns)), self._chunks_back))

    def _at(self, at_s: float) -> Complexes:
        return np.asarray(self._sent * np.exp(2j * np.pi * (self._turns * (at_s * self._rate) % 1.0)))

    def see(self, window: Floats, at_s: float) -> Seen:
        """What a window of `length` samples tells, in all of which the chord sounded and no other."""
        sent = self._at(at_s)
        heard, heard_odd = self._looked_at(window)
        # Least squares by the normal equations: partials of one line, which lie side by side, are summed.
        normal = np.add.reduceat(sent.conj()[:, None] * self._mixed * sent, self._firsts, axis=0)
        normal = np.add.reduceat(normal, self._firsts, axis=1)
        aim = np.add.reduceat(sent.conj() * (self._mix_back @ heard), self._firsts)
        scale = np.sqrt(normal.diagonal().real) + 1e-12
        ridge = _RIDGE * np.eye(len(scale))
        ways = np.linalg.solve(normal / np.outer(scale, scale) + ridge, aim / scale) / scale
        odd = heard_odd[self._loudest] - self._odd_mix @ (sent * ways[self._own])
        middle = self._at(at_s + self.length / 2 / self._rate)
        there = np.abs(np.add.reduceat(middle, self._firsts)) + 1e-12
        doubts = (UNSTEADY * np.abs(odd) / (self._slope * there)) ** 2
        return Seen(self.lines, ways, doubts)

    def wave(self, ways: Complexes, at_s: float, count: int) -> Floats:
        """What comes back of the chord at full share, `count` samples from `at_s` on."""
        back = ways[self._which] * self._sent
        at = at_s * self._rate + np.arange(0, count, CHUNK)
        turned = back * np.exp(2j * np.pi * (np.outer(at, self._turns) % 1.0))
        return np.asarray((turned @ self._steps).real.reshape(-1)[:count])


def _hann(turns: Floats, length: int) -> Complexes:
    """The sum of a Hann window times `exp(2j pi turns n)`: three Dirichlet kernels about its middle."""
    middle = 0.5 * _kernel(turns, length) + 0.25 * (
        _kernel(turns - 1 / length, length) + _kernel(turns + 1 / length, length)
    )
    return np.asarray(middle * np.exp(1j * np.pi * turns * (length - 1)))


def _odd_hann(turns: Floats, length: int) -> Complexes:
    """The same with each sample weighted by its place from -1/2 to 1/2: a derivative of the former."""
    step = 1e-4 / length
    turned = np.exp(1j * np.pi * turns * (length - 1))
    low, high = (
        _hann(each, length) * np.exp(-1j * np.pi * each * (length - 1)) for each in (turns - step, turns + step)
    )
    return np.asarray((high - low) / (2 * step) / (2j * np.pi * length) * turned)


def _kernel(turns: Floats, length: int) -> Floats:
    """sin(pi turns length) / sin(pi turns), and its limit."""
    safe = np.where(np.abs(turns) < 1e-12, 1e-12, turns)
    return np.asarray(np.sin(np.pi * safe * length) / np.sin(np.pi * safe))
