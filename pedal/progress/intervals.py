"""Numbers with their doubt: a median with its exact interval, a share with Wilson's.

Formulas and sources stand in docs/statistics.md; tests/progress compares each with SciPy.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.progress.need import SPREAD_OF_MAD

CONFIDENCE = 0.95
_Z = 1.959963984540054
"""0.975 quantile of the standard normal distribution."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value from `n` tries and the interval that covers the truth in at least 95 of 100 such samples.

    From -inf to inf where so few tries bound nothing at that confidence.
    """

    value: float
    low: float
    high: float
    n: int

    @property
    def bounded(self) -> bool:
        """Whether the interval says anything."""
        return math.isfinite(self.low) and math.isfinite(self.high)

    def beyond(self, limit: float) -> bool:
        """Whether the whole interval lies further from zero than `limit`, on one side."""
        return self.low > limit or self.high < -limit


def median_estimate(values: Sequence[float] | NDArray[np.float64]) -> Estimate | None:
    """Median with its distribution-free interval from order statistics; None without values.

    The interval runs from the k-th smallest to the k-th largest value, k as large as P(Binomial(n, 1/2) < k) <= 0.025
    allows: exact for any continuous distribution, conservative with ties. Fewer than six values are not bounded.
    """
    if not len(values):
        return None
    ordered = np.sort(np.asarray(values, np.float64))
    rank = _rank(len(ordered))
    middle = float((ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2)
    if rank == 0:
        return Estimate(middle, -math.inf, math.inf, len(ordered))
    return Estimate(middle, float(ordered[rank - 1]), float(ordered[-rank]), len(ordered))


def _rank(n: int) -> int:
    """Largest k with P(Binomial(n, 1/2) <= k - 1) <= 0.025; 0 if none."""
    # Ten root n below the middle lie twenty standard deviations: what is left out there is below 1e-80.
    tail, k = 0.0, max(0, int(n / 2 - 10 * math.sqrt(n)))
    while k < n:
        tail += math.exp(math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1) - n * math.log(2))
        if tail > (1 - CONFIDENCE) / 2:
            return k
        k += 1
    return 0


def scatter_of(values: NDArray[np.float64]) -> float | None:
    """1.4826 times the median distance from the median, in the unit of the values; None for fewer than two.

    The same as `need.spread_of`, for columns of a million: it makes one copy and no list.
    """
    if len(values) < 2:
        return None
    off = values - np.median(values)
    return SPREAD_OF_MAD * float(np.median(np.abs(off, out=off), overwrite_input=True))


def share_estimate(hits: int, tries: int) -> Estimate | None:
    """Share of hits with Wilson's score interval; None without tries."""
    if not tries:
        return None
    share, z2 = hits / tries, _Z * _Z
    centre = (share + z2 / (2 * tries)) / (1 + z2 / tries)
    half = _Z / (1 + z2 / tries) * math.sqrt(share * (1 - share) / tries + z2 / (4 * tries * tries))
    return Estimate(share, max(0.0, centre - half), min(1.0, centre + half), tries)
