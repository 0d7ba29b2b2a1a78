"""A held note -> how far its first partials turned since the last tick: the fine reading.

A stiff string's partial k lies at k f sqrt((1 + B k^2) / (1 + B)), so matching whole periods reads sharp of the first
partial. Here each partial is turned back by its own expected frequency, and only phases are compared. How much each
partial counts follows from its strength over the learned noise, and from how well its stiffness is known.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from pedal.pitch.intake import Samples
from pedal.pitch.octave import LOOK_TICKS
from pedal.pitch.partial_filter import MOST_PARTIALS, PartialFilter, partial_filters

_ORDERS = tuple(range(1, MOST_PARTIALS + 1))
RISES = tuple(0.5 * (order * order - 1) for order in _ORDERS)
"""By how much a stiffness of 1 raises each partial, to first order."""
LEAK = 2e-4
"""Share of all partials' power that disturbs each (-37 dB): neighbours that move, decay and are not quite harmonic."""
LEAST_VARIANCE = 1e-5
"""Squared radians of phase that nothing explains."""
FINE_S = 0.025
"""Weights are right for a reading over this long: shorter ones are ruled by noise, longer ones by stiffness."""
FIRST_STIFFNESS = 6e-5
MOST_STIFFNESS = 8e-4
FIRST_DOUBT, LEAST_DOUBT = 8e-5, 1.5e-5
"""How far the stiffness may be off, before a note is known, and at best: real partials are never quite in line."""
DOUBT_GROWS = 4e-10
"""Variance a second by which a known stiffness may wander: a whole-step bend takes a fifth of it away."""
SPREAD_IN_SLOPE = 0.3
"""Of the spread: most of it is one partial apart from the line, not the line's slope (tuned on modelled strings)."""
SPREAD_RATE = 0.2
LEAST_SPREAD, MOST_SPREAD = 0.05, 100.0
HANN_MOVES = 2.0 * math.pi**2 / 3.0
"""1 - correlation of two Hann windows' noise is this times (distance / length)^2, for small distances."""


class Partials:
    """Follows the phases of the first partials of one note."""

    def __init__(self, rate_hz: float, tick_s: float, noise_density: Callable[[float], float]) -> None:
        self._rate, self._tick_s, self._noise = rate_hz, tick_s, noise_density
        self._partial_filters = partial_filters(rate_hz)
        self._nearest = self._partial_filters.nearest(0.0)
        self._phases = [0.0] * MOST_PARTIALS
        self._offs = [0.0] * MOST_PARTIALS
        self._turns = [0.0] * MOST_PARTIALS
        self._shares = [0.0] * MOST_PARTIALS
        self.count = 0
        self._behind = 0
        self._ticks = 0
        self._summed_s = 0.0
        self._stiffness, self._doubt = FIRST_STIFFNESS, FIRST_DOUBT**2
        self._spread = 1.0
        self.variance = 1.0
        self.power = self.over_noise = 0.0
        """Power of the partials, a sample; and over that of the noise where they are."""

    def start(self, newest: Callable[[int], Samples], hz: float) -> float:
        """First phases of a note of about `hz`; returns how many seconds before the newest sample they belong."""
        self._nearest = partial_filter = self._partial_filters.nearest(hz)
        z = partial_filter.rows.dot(newest(partial_filter.length)).tolist()
        self.count = n = partial_filter.count
        for k in range(n):
            self._phases[k] = math.atan2(z[n + k], z[k])
            self._offs[k] = 0.0
        self._behind = partial_filter.behind
        self._ticks = 0
        self._summed_s = 0.0
        self._stiffness, self._doubt, self._spread = FIRST_STIFFNESS, FIRST_DOUBT**2, 1.0
        self._weigh(z, partial_filter, hz)
        return partial_filter.behind / self._rate

    def advance(self, newest: Callable[[int], Samples], count: int, hz: float) -> tuple[float, float]:
        """(mean frequency in hertz, the seconds it is the mean over) since the last tick, `count` samples ago.

        `hz` is what was expected. `variance` is that of the turn of the first partial, squared radians.
        """
        partial_filter = self._nearest
        if not partial_filter.low_hz <= hz < partial_filter.high_hz:
            self._nearest = partial_filter = self._partial_filters.nearest(hz)
        z = partial_filter.rows.dot(newest(partial_filter.length)).tolist()
        n = partial_filter.count
        seconds = (count + self._behind - partial_filter.behind) / self._rate
        self._behind = partial_filter.behind
        turn = math.tau * hz * seconds
        if n != self.count:
            self._recount(partial_filter, z, hz, turn)
        phases, offs, turns, shares = self._phases, self._offs, self._turns, self._shares
        atan2, remainder = math.atan2, math.remainder
        mean = 0.0
        for k in range(n):
            phase = atan2(z[n + k], z[k])
            off = remainder(phase - phases[k] - turn * turns[k], math.tau)
            phases[k] = phase
            offs[k] += off
            mean += shares[k] * off
        self._ticks = ticks = self._ticks + 1
        self._summed_s += seconds
        if ticks % LOOK_TICKS == 0 or ticks < LOOK_TICKS:
            self._weigh(z, partial_filter, hz)
        off = mean / turn
        off = -0.2 if off < -0.2 else 0.2 if off > 0.2 else off
        return hz * (1.0 + off), seconds

    def _recount(self, partial_filter: PartialFilter, z: list[float], hz: float, turn: float) -> None:
        """The pitch rose or fell so far that another number of partials is looked at.

        The new ones are as far on as they should be: where they were a tick ago, `turn` of the first, nobody looked.
        """
        before, n = self.count, partial_filter.count
        self.count = n
        self._offs = [0.0] * MOST_PARTIALS
        self._summed_s = 0.0
        self._weigh(z, partial_filter, hz)
        for k in range(before, n):
            self._phases[k] = math.atan2(z[n + k], z[k]) - turn * self._turns[k]

    def _weigh(self, z: list[float], partial_filter: PartialFilter, hz: float) -> None:
        """Sets how much each partial counts, how far it turns, and the variance, from what came since last time."""
        n = partial_filter.count
        power = [real * real + imaginary * imaginary for real, imaginary in zip(z[:n], z[n:], strict=True)]
        whole = sum(power)
        leak, gain, noise_at = LEAK * whole, partial_filter.noise_gain, self._noise
        sharpness = 1.0 / (math.tau * hz * FINE_S) ** 2
        doubt, least_doubt = self._doubt, LEAST_DOUBT**2
        doubt = doubt if doubt > least_doubt else least_doubt
        precisions, weights = [], []
        noises = 1e-15
        for order, own, stiff in zip(_ORDERS, power, RISES, strict=False):
            noise = 0.5 * noise_at(order * hz) * gain
            noises += 2.0 * noise
            variance = (LEAST_VARIANCE + (leak + noise) / (own + 1e-15)) / (order * order)
            precisions.append(1.0 / variance)
            weights.append(1.0 / (1.2 * variance * sharpness + stiff * stiff * doubt))
        self.power, self.over_noise = whole, whole / noises
        if self._summed_s > 0.0 and n > 1:
            self._learn(precisions, partial_filter, hz)
        total, stiffness = sum(weights), self._stiffness
        for k, weight in enumerate(weights):
            order = k + 1
            self._shares[k] = weight / total / order
            self._turns[k] = order * (1.0 + stiffness * RISES[k])
            self._offs[k] = 0.0
        # Windows of neighbouring ticks share most of their samples, and so of their noise.
        overlap = 0.5 * partial_filter.seconds / self._tick_s
        overlap, spread = overlap if overlap > 1.0 else 1.0, self._spread
        self.variance = (spread if spread > LEAST_SPREAD else LEAST_SPREAD) * overlap / sum(precisions)
        self._summed_s = 0.0

    def _learn(self, precisions: list[float], partial_filter: PartialFilter, hz: float) -> None:
        """Stiffness from the slope of the partials' offs over k^2 - 1, and how much more they spread than expected."""
        n = partial_filter.count
        total = off = rise = squares = both = steps = 0.0
        for order, w, turned, g in zip(_ORDERS, precisions, self._offs, RISES, strict=False):
            y = turned / order
            wy, wg = w * y, w * g
            total += w
            off += wy
            rise += wg
            squares += wy * y
            both += wy * g
            steps += wg * g
        across = steps - rise * rise / total
        slope = (both - rise * off / total) / across
        apart = self._summed_s / partial_filter.seconds
        moved = HANN_MOVES * apart * apart
        moved = 2 * (moved if moved < 1.0 else 1.0)
        spread = (squares - off * off / total) / (n - 1) / moved
        spread = 0.0 if spread < 0.0 else spread if spread < MOST_SPREAD else MOST_SPREAD
        self._spread += SPREAD_RATE * (spread - self._spread)
        spread = self._spread if self._spread > LEAST_SPREAD else LEAST_SPREAD
        turn = math.tau * hz * self._summed_s
        doubt = self._doubt + DOUBT_GROWS * self._summed_s
        gain = doubt / (doubt + SPREAD_IN_SLOPE * spread * moved / (across * turn * turn))
        self._doubt = doubt * (1.0 - gain)
        stiffness = self._stiffness + gain * slope / turn
        self._stiffness = 0.0 if stiffness < 0.0 else stiffness if stiffness < MOST_STIFFNESS else MOST_STIFFNESS
