"""A held note -> how far its first partials turned since the last tick: the fine reading.

A stiff string's partial k lies at k f sqrt((1 + B k^2) / (1 + B)), so that matching whole periods reads sharp of the
first partial. Here each partial is turned back by its own expected frequency over a Hann window of whole periods, which
has its zeros on the other partials, and only phases are compared.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

PARTIALS = 4
STEP_CENTS = 10.0
ODD_SHARE = 0.03
"""Power share below which the partials between the multiples are taken for noise: the pitch is the multiple."""
LOWEST_HZ, HIGHEST_HZ = 52.0, 1900.0
SHORTEST_WINDOW_S = 0.006
FEWEST_PERIODS = 2
HIGHEST_PARTIAL_HZ = 4500.0
MODEL_VARIANCE = 1e-5
LEAK = 2e-4
"""Squared radians of phase that no noise explains: leakage of a moving, decaying, not quite harmonic neighbour."""


CHI_RATE = 0.06
CHI_LEAST = 0.05
R_SCALE = 1.0

class Lens:
    """Rows that turn a window into the complex amplitudes of the first partials of one frequency."""

    __slots__ = ("behind", "count", "hz", "length", "noise_gain", "rows", "seconds")

    def __init__(self, hz: float, rate: float) -> None:
        self.hz = hz
        periods = max(FEWEST_PERIODS, math.ceil(SHORTEST_WINDOW_S * hz - 0.01))
        self.seconds = periods / hz
        reach = periods * rate / hz / 2
        self.behind = math.ceil(reach) - 1
        self.length = 2 * self.behind + 1
        self.count = min(PARTIALS, max(1, int(HIGHEST_PARTIAL_HZ / hz)))
        at = np.arange(-self.behind, self.behind + 1)
        window = np.cos(np.pi * at / (2 * reach)) ** 2
        window /= window.sum()
        self.noise_gain = float(np.sum(window**2))
        angle = 2 * np.pi * hz / rate * np.outer(np.arange(1, self.count + 1), at)
        self.rows = np.concatenate([window * np.cos(angle), -window * np.sin(angle)]).astype(np.float32)


@lru_cache(maxsize=4)
def lenses(rate: float) -> tuple[Lens, ...]:
    """One lens every `STEP_CENTS` from `LOWEST_HZ` to `HIGHEST_HZ`."""
    steps = int(1200 * math.log2(HIGHEST_HZ / LOWEST_HZ) / STEP_CENTS) + 1
    return tuple(Lens(LOWEST_HZ * 2.0 ** (i * STEP_CENTS / 1200), rate) for i in range(steps))


def dominant(power: list[float], share: float) -> int:
    """2 or 3 if nearly all power of the first four partials lies at multiples of that many."""
    first, second, third, fourth = power
    if first + third < share * (second + fourth):
        return 2
    if first + second + fourth < share * third:
        return 3
    return 1


class Partials:
    """Follows the phases of the first partials of one note."""

    def __init__(self, rate: float) -> None:
        self._rate = rate
        self._lenses = lenses(rate)
        self._last = [0.0] * PARTIALS
        self._weights = [1.0] * PARTIALS
        self.stiffness = 0.0
        self._steps = 0
        self._behind = 0
        self.longest = max(lens.length for lens in self._lenses)
        self.amplitudes = [0.0] * PARTIALS

    def lens_for(self, hz: float) -> Lens:
        at = round(1200 * math.log2(max(hz, LOWEST_HZ) / LOWEST_HZ) / STEP_CENTS)
        return self._lenses[min(at, len(self._lenses) - 1)]

    def start(self, history: NDArray[np.float32], hz: float) -> float:
        """First phases of a note of about `hz`; how many samples behind the newest they belong."""
        lens = self.lens_for(hz)
        self._steps = 0
        self.stiffness = 6e-5
        self._chi = 1.0
        self._look(history, lens)
        self._behind = lens.behind
        return lens.behind

    def multiple(self, history: NDArray[np.float32], hz: float) -> int:
        """2 or 3 if nearly all of what is heard at `hz` lies at multiples of that many times `hz`, else 1."""
        lens = self.lens_for(hz)
        if lens.count < 4:
            return 1
        z = lens.rows.dot(history[len(history) - lens.length :]).tolist()
        return dominant([z[k] * z[k] + z[k + 4] * z[k + 4] for k in range(4)], ODD_SHARE)

    def _look(self, history: NDArray[np.float32], lens: Lens) -> list[float]:
        z = lens.rows.dot(history[len(history) - lens.length :]).tolist()
        n = lens.count
        phases = self._last
        amplitudes = self.amplitudes
        turned = []
        for k in range(n):
            re, im = z[k], z[n + k]
            phase = math.atan2(im, re)
            turned.append(phase - phases[k])
            phases[k] = phase
            amplitudes[k] = re * re + im * im
        return turned

    def advance(self, history: NDArray[np.float32], count: int, hz: float, noise) -> tuple[float, float, float]:
        """(mean frequency since the last tick in hertz, seconds it covers, phase variance in squared radians)."""
        lens = self.lens_for(hz)
        turned = self._look(history, lens)
        seconds = (count + self._behind - lens.behind) / self._rate
        self._behind = lens.behind
        expected = 2 * math.pi * hz * seconds
        b = self.stiffness
        total = weight_sum = g_sum = gg_sum = gy_sum = 0.0
        span = (2 * math.pi * hz * 0.025) ** 2
        doubt = (3e-5 if self._steps > 40 else 8e-5) ** 2
        power = self.amplitudes
        off_all = []
        leak = LEAK * sum(power[: lens.count])
        for k in range(1, lens.count + 1):
            off = turned[k - 1] - k * expected * (1 + 0.5 * b * (k * k - 1))
            off -= 2 * math.pi * round(off / (2 * math.pi))
            off /= k
            variance = (MODEL_VARIANCE + (leak + 0.5 * noise(k * hz) * lens.noise_gain) / (power[k - 1] + 1e-15)) / (k * k)
            g = 0.5 * (k * k - 1)
            w = 1.0 / (1.2 * variance / span + doubt * g * g)
            total += w * off
            weight_sum += w
            ws = 1.0 / variance
            g_sum += ws * g
            gg_sum += ws * g * g
            gy_sum += ws * g * off
            off_all.append((ws, off))
        mean = total / weight_sum
        # stiffness
        ws_sum = sum(ws for ws, _ in off_all)
        y_mean = sum(ws * off for ws, off in off_all) / ws_sum
        spread = gg_sum - g_sum * g_sum / ws_sum
        if spread > 0:
            slope = (gy_sum - g_sum * y_mean) / spread / expected
            self._steps += 1
            self.stiffness = min(8e-4, max(0.0, b + slope / max(12, min(self._steps, 80)) ))
        n = lens.count
        apart = seconds / lens.seconds
        if n > 1:
            chi = sum(ws * (off - y_mean) ** 2 for ws, off in off_all) / (n - 1) / (2 * min(1.0, 6.6 * apart * apart))
            self._chi += CHI_RATE * (min(chi, 100.0) - self._chi)
        variance = 1.0 / ws_sum * max(CHI_LEAST, self._chi) * max(1.0, 0.5 / apart) * R_SCALE
        return hz * (1 + max(-0.2, min(0.2, mean / expected))), seconds, variance
