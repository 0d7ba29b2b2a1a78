"""Whether a figure moves from session to session, and how fast: Mann and Kendall's test, Theil and Sen's slope.

A trend is announced only where Holm's step-down over everything tested at once leaves it standing.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import accumulate
from statistics import median

import numpy as np
from numpy.typing import NDArray

from pedal.values import frozen

LEAST_SESSIONS = 6
"""With five values even a perfect order has a chance of 1 in 60 of being luck."""

SIGNIFICANCE = 0.05
_EXACT_UP_TO = 50
_KEPT_AT_ONCE = 200_000
"""Slopes: a trend over 600 sessions, 1.6 MB."""
_SAMPLED, _FIRST_MARGIN = 40_000, 0.02
"""The sample's own median lies within 0.005 of the middle of all (two standard deviations): four times that is kept."""


@frozen
class Trend:
    """A movement by `slope` a session over so many sessions, `first` and `last` the ends of the fitted line.

    p : two-sided chance of so clear an order among figures that have none.
    """

    slope: float
    p: float
    sessions: int
    first: float
    last: float


def trend_of(values: Sequence[float]) -> Trend | None:
    """The trend of one figure a session, in order; None for fewer than `LEAST_SESSIONS`.

    `first` and `last` are the ends of the fitted line, median(values) + slope * (x - median(x)).
    """
    n = len(values)
    if n < LEAST_SESSIONS:
        return None
    slope, middle = theil_sen(values), median(values)
    return Trend(slope, mann_kendall_p(values), n, middle - slope * (n - 1) / 2, middle + slope * (n - 1) / 2)


def theil_sen(values: Sequence[float]) -> float:
    """Median of the slopes between all pairs of values, one step from each to the next.

    Exact, and in little memory where there are thousands of values and so millions of pairs: a sample of the slopes
    tells between which two the middle lies, and only those in between are kept and sorted.
    """
    series = np.asarray(values, np.float64)
    pairs = len(series) * (len(series) - 1) // 2
    if pairs <= _KEPT_AT_ONCE:
        return float(np.median(np.concatenate(list(_slopes(series)))))
    sample = np.sort(_sample(series, pairs))
    wanted = ((pairs - 1) // 2, pairs // 2)
    margin = _FIRST_MARGIN
    while True:
        low, high = np.quantile(sample, [max(0.0, 0.5 - margin), min(1.0, 0.5 + margin)], method="nearest")
        low, high = (low, high) if margin < 0.5 else (-math.inf, math.inf)
        found = _between(series, float(low), float(high), wanted)
        if found is not None:
            return found
        margin *= 4


def _slopes(series: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """The slopes of all pairs, those with the same distance together."""
    for steps in range(1, len(series)):
        yield (series[steps:] - series[:-steps]) / steps


def _sample(series: NDArray[np.float64], pairs: int) -> NDArray[np.float64]:
    """About `_SAMPLED` slopes, from all distances in proportion."""
    stride = max(1, pairs // _SAMPLED)
    passed, parts = 0, []
    for slopes in _slopes(series):
        parts.append(slopes[-passed % stride :: stride].copy())  # a view would hold them all
        passed += len(slopes)
    return np.concatenate(parts)


def _between(series: NDArray[np.float64], low: float, high: float, wanted: tuple[int, int]) -> float | None:
    """The mean of the slopes of these two ranks, if both lie from `low` to `high`."""
    below = at_low = at_high = 0
    parts = []
    for slopes in _slopes(series):
        below += int(np.count_nonzero(slopes < low))
        at_low += int(np.count_nonzero(slopes == low))
        at_high += int(np.count_nonzero(slopes == high)) if high > low else 0
        parts.append(slopes[(slopes > low) & (slopes < high)])
    inner = np.sort(np.concatenate(parts))
    ranks = [rank - below for rank in wanted]
    if min(ranks) < 0 or max(ranks) >= at_low + len(inner) + at_high:
        return None
    return sum(_ranked(rank, low, at_low, inner, high) for rank in ranks) / 2


def _ranked(rank: int, low: float, at_low: int, inner: NDArray[np.float64], high: float) -> float:
    if rank < at_low:
        return low
    return float(inner[rank - at_low]) if rank < at_low + len(inner) else high


def mann_kendall_p(values: Sequence[float]) -> float:
    """Two-sided p that as many pairs rise (or fall) by chance.

    Without ties exact, from the distribution of inversions; with ties, or above 50 values, normal with Kendall's
    variance for ties and the score moved by one towards zero.
    """
    n = len(values)
    series = np.asarray(values, np.float64)
    score = sum(
        int(np.count_nonzero(series[steps:] > series[:-steps]))
        - int(np.count_nonzero(series[steps:] < series[:-steps]))
        for steps in range(1, n)
    )
    ties = [count for count in Counter(values).values() if count > 1]
    if not ties and n <= _EXACT_UP_TO:
        return _exact_p(n, score)
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    return math.erfc(max(0, abs(score) - 1) / math.sqrt(2 * variance)) if variance else 1.0


def _exact_p(n: int, score: int) -> float:
    """Two-sided tail of the number of inversions in a random order of n."""
    fewest = (n * (n - 1) // 2 - abs(score)) // 2
    return min(1.0, 2 * sum(_orders(n)[: fewest + 1]) / math.factorial(n))


@cache
def _orders(n: int) -> tuple[int, ...]:
    """How many orders of n have 0, 1, 2, ... inversions (Mahonian numbers). Kept: a page asks for few n, and often."""
    ways = [1]
    for size in range(2, n + 1):
        up_to = [0, *accumulate(ways + [0] * (size - 1))]
        ways = [up_to[k + 1] - up_to[max(0, k + 1 - size)] for k in range(len(up_to) - 1)]
    return tuple(ways)


def standing(p_values: Sequence[float]) -> list[bool]:
    """Which of these stand at 5 % together, by Holm's step-down."""
    order = sorted(range(len(p_values)), key=p_values.__getitem__)
    stands = [False] * len(p_values)
    for step, index in enumerate(order):
        if p_values[index] > SIGNIFICANCE / (len(p_values) - step):
            break
        stands[index] = True
    return stands
