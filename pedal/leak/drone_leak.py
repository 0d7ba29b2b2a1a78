"""Samples with the pedal's own drone in them -> the same without it, as far as it comes back from a speaker or mixer.

The drone's frequencies are known, and it stands still: over the interface's own clock each of its partials keeps one
amplitude and phase. So stretches of sound are fitted by these partials, and where several in a row tell of the same
amplitudes and phases, that is the leak. It is then taken off every sample, also under a note, for as long as the drone
sounds. A string never fits: it decays, and a third of a cent off turns its phase. Two devices with a clock each drift
apart: there the upper partials are taken off less well.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pedal.theory.voice import HARMONICS, HIGHEST_HZ

STRETCH_S = 0.2
"""Tells partials 5 Hz apart from each other; nearer ones make one line, that beats."""
FEWEST_STRETCHES = 3
"""In a row for each partial of a line, before they are believed: as many as show that a line stands still."""
ODD_SHARE = 0.001
"""Stretches belong together if no more than this share of their power is left over."""
EXPLAINED_SHARE = 0.7
"""So much of a stretch must be the drone's for it to be believed: hum and hiss may be the rest."""
CLEAR_SHARE = 0.1
"""Of its power: what is known no worse than this is clear, and what lies off by more is elsewhere."""
FADE_S = 0.8
"""The drone's own fade, and the way through the drivers; then come the stretches from which it is learned."""
OPENING_S, LONGEST_NEW_S = 1.0, 6.0
"""An output that was silent takes its time to open; so long after an order even a restless leak counts as known."""
NEW_GATE_DB = -30.0
"""RMS. Until a leak can be known, only what is louder is heard: a drone or a click at its default level stays below."""
SURE_DB = NEW_GATE_DB - 20
"""RMS. A note that was loud enough is heard on down to this; a click that is known so well is taken off, not hushed."""
_HUSH = 0.02
"""What is gated is not wiped out: after digital silence the room's own hiss would be news to the ear."""
_CHUNK = 256
_LEAST_APART = 0.05
"""Partials that beat too slowly to be told apart in the stretches at hand share what is found."""

Samples = NDArray[np.float32]


class DroneLeak:
    """`.expect(hz)` tells what the drone plays, `.clean(samples)` gives the sound without it."""

    def __init__(self, sample_rate: int) -> None:
        self._rate = sample_rate
        self._stretch = np.zeros(round(STRETCH_S * sample_rate))
        self._fit = np.zeros((0, len(self._stretch)))
        self._steps = np.zeros((0, _CHUNK), np.complex128)
        self._turns = np.zeros(0)
        self._lines: list[NDArray[np.float64]] = []
        self._middles = np.zeros(0)
        self._fits: list[NDArray[np.complex128]] = []
        self._most = FEWEST_STRETCHES
        self._filled = self._heard = 0
        self._steady_from = self._new_until = self._old_from = 0
        self._power, self._open, self._gain = 0.0, False, 1.0
        self.leak: NDArray[np.complex128] = np.zeros(0, np.complex128)
        """Amplitude and phase of each partial at the first sample ever; empty while nothing is known to leak."""

    def expect(self, hz: tuple[float, ...]) -> None:
        """The drone plays these notes from now on, or none; what was learned of the last ones is void."""
        sounded = bool(self._lines)
        self._lines = [line / self._rate for line in _lines(hz, self._rate)]
        self._turns = np.concatenate([np.zeros(0), *self._lines])
        self._middles = np.array([line.mean() for line in self._lines])
        self._most = FEWEST_STRETCHES * max((len(line) for line in self._lines), default=1)
        self._steps = np.exp(2j * np.pi * np.outer(self._turns, np.arange(_CHUNK)))
        self._fit = _fitting(self._middles, len(self._stretch))
        self._fits, self._filled = [], 0
        self.leak = np.zeros(0, np.complex128)
        if not hz:
            self._new_until = self._heard + round(FADE_S * self._rate) if sounded else 0
            return
        learning_s = (self._most + 1) * STRETCH_S + (0.0 if sounded else OPENING_S)
        self._steady_from = self._heard + round(FADE_S * self._rate)
        self._new_until = self._heard + round((FADE_S + learning_s) * self._rate)
        self._old_from = self._heard + round(LONGEST_NEW_S * self._rate)

    def skip(self, samples: int) -> None:
        """So many samples were lost: the drone went on meanwhile."""
        if samples:
            self._heard += samples
            self._fits, self._filled, self._power = [], 0, 0.0

    def clean(self, samples: Samples) -> Samples:
        """The samples without the leak; the very same array while there is nothing to do."""
        if not len(self._turns) and self._heard >= self._new_until and self._gain == 1.0:
            self._heard += len(samples)
            self._power = float(samples @ samples) / max(1, len(samples))
            self._open = self._power > 10 ** (SURE_DB / 10)
            return samples
        if len(self.leak) and not samples.any():  # dead, as a muted input: nothing comes back
            self.skip(len(samples))
            return samples
        made = samples.copy()
        start = 0
        while start < len(samples):
            stop = min(len(samples), start + _CHUNK, start + len(self._stretch) - self._filled)
            self._take(samples[start:stop], made[start:stop])
            start = stop
        return made

    def _take(self, heard: Samples, made: Samples) -> None:
        """A piece that ends with a stretch at the latest: cleaned by what is known, then learned from."""
        count = len(heard)
        if len(self.leak):
            turned = self.leak * np.exp(2j * np.pi * ((self._turns * self._heard) % 1.0))
            made -= (turned @ self._steps[:, :count]).real.astype(np.float32)
        self._gate(made, new=not len(self.leak) and self._heard < self._new_until)
        self._stretch[self._filled : self._filled + count] = heard
        self._filled += count
        self._heard += count
        if self._filled == len(self._stretch):
            self._learn(self._heard - self._filled)
            self._filled = 0

    def _learn(self, first: int) -> None:
        """Fit the full stretch, which begins at sample `first`; enough of them that belong together are the leak."""
        stretch = self._stretch - self._stretch.mean()
        cosines, sines = np.split(self._fit @ stretch, 2)
        local = cosines - 1j * sines
        power = float(stretch @ stretch) / len(stretch)
        explained = 0.5 * float(np.vdot(local, local).real)
        if explained < EXPLAINED_SHARE * power or power <= 0.0:
            self._fits = []
            return
        self._new_until = max(self._new_until, min(self._heard + 2 * len(self._stretch), self._old_from))
        if first < self._steady_from:
            return
        if len(self.leak) and self._has_jumped(local, first):
            self.leak, self._fits, self._open = self.leak[:0], [], False
            self._new_until = self._heard + (self._most + 1) * len(self._stretch)
            self._old_from = self._new_until + round(LONGEST_NEW_S * self._rate)
        # As it stood in the middle of the stretch, where a line that beats is neither early nor late.
        half = len(stretch) / 2
        self._fits = [*self._fits[1 - self._most :], local * np.exp(2j * np.pi * self._middles * half)]
        if len(self._fits) == self._most:
            self._believe(first + half)

    def _has_jumped(self, local: NDArray[np.complex128], first: int) -> bool:
        """As loud as before, but not where it was: the output ran dry for a moment, and the drone came back later."""
        known = self.leak * np.exp(2j * np.pi * ((self._turns * first) % 1.0))
        bounds = np.cumsum([0, *(len(line) for line in self._lines)])[:-1]
        there = np.add.reduceat(known, bounds)
        ratio = float(np.vdot(local, local).real / np.vdot(there, there).real)
        moved = float(np.vdot(local - there, local - there).real / np.vdot(there, there).real)
        return EXPLAINED_SHARE < ratio < 1 / EXPLAINED_SHARE and moved > CLEAR_SHARE

    def _believe(self, latest: float) -> None:
        """Split the lines into their partials, if the stretches belong together; `latest` is the middle of the last."""
        fits = np.array(self._fits)
        at = latest + len(self._stretch) * np.arange(1 - self._most, 1)
        partials, left = [], 0.0
        for line, seen in zip(self._lines, fits.T, strict=True):
            turning = np.exp(2j * np.pi * np.outer(at, line))
            found = np.linalg.lstsq(turning, seen, rcond=_LEAST_APART)[0]
            left += float(np.linalg.norm(seen - turning @ found) ** 2)
            partials.append(found)
        if left < ODD_SHARE * float(np.linalg.norm(fits) ** 2):
            self.leak = np.concatenate(partials)

    def _gate(self, made: Samples, *, new: bool) -> None:
        """Hush, in place, what is soft while a leak is `new`; after that let it rise again.

        What was let through once, or sounded before, is as it decays, and what was hushed rises no faster than a drone
        fades: a fall or a leap in the middle of a note would end it, or be told as another pluck.
        """
        count, before = len(made), self._gain
        self._power += (float(made @ made) / count - self._power) * min(1.0, count / _CHUNK)
        through = self._open if new else before == 1.0
        self._open = self._power > 10 ** ((SURE_DB if through else NEW_GATE_DB) / 10)
        if self._open:
            self._gain = 1.0
            return
        turned = _HUSH ** (count / (FADE_S * self._rate))
        if new:
            self._gain = _HUSH if before == 1.0 else max(_HUSH, before * turned)
        else:
            self._gain = min(1.0, before / turned)
        if min(before, self._gain) < 1.0:
            made *= np.linspace(before, self._gain, count, dtype=np.float32)


def _lines(hz: tuple[float, ...], sample_rate: int) -> list[NDArray[np.float64]]:
    """The frequencies of all partials, rising; those too near to be told apart in one stretch stand together."""
    highest = min(HIGHEST_HZ, 0.45 * sample_rate)
    every = sorted({note * number for note in hz for number in range(1, HARMONICS + 1) if note * number < highest})
    lines: list[list[float]] = []
    for partial in every:
        if lines and partial - lines[-1][0] < 1 / STRETCH_S:
            lines[-1].append(partial)
        else:
            lines.append([partial])
    return [np.array(line) for line in lines]


def _fitting(turns: NDArray[np.float64], length: int) -> NDArray[np.float64]:
    """The matrix that gives the cosines' and sines' amplitudes of a stretch, by least squares."""
    radians = 2 * math.pi * np.outer(turns, np.arange(length))
    basis = np.concatenate([np.cos(radians), np.sin(radians)])
    return np.asarray(np.linalg.solve(basis @ basis.T, basis)) if len(turns) else basis
