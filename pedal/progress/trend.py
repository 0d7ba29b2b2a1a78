"""Whether a figure moves from session to session, and how fast: Mann and Kendall's test, Theil and Sen's slope.

A trend is announced only where Holm's step-down over everything tested at once leaves it standing.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import median

LEAST_SESSIONS = 6
"""With five values even a perfect order has a chance of 1 in 60 of being luck."""

SIGNIFICANCE = 0.05
_EXACT_UP_TO = 50


@dataclass(frozen=True, slots=True)
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
    """Median of the slopes between all pairs of values, one step from each to the next."""
    return median((values[j] - values[i]) / (j - i) for i, j in combinations(range(len(values)), 2))


def mann_kendall_p(values: Sequence[float]) -> float:
    """Two-sided p that as many pairs rise (or fall) by chance.

    Without ties exact, from the distribution of inversions; with ties, or above 50 values, normal with Kendall's
    variance for ties and the score moved by one towards zero.
    """
    n = len(values)
    score = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    ties = [count for count in Counter(values).values() if count > 1]
    if not ties and n <= _EXACT_UP_TO:
        return _exact_p(n, score)
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    return math.erfc(max(0, abs(score) - 1) / math.sqrt(2 * variance)) if variance else 1.0


def _exact_p(n: int, score: int) -> float:
    """Two-sided tail of the number of inversions in a random order of n (Mahonian numbers)."""
    counts = [1]
    for size in range(2, n + 1):
        longer = [0] * (len(counts) + size - 1)
        for inversions, ways in enumerate(counts):
            for more in range(size):
                longer[inversions + more] += ways
        counts = longer
    fewest = (n * (n - 1) // 2 - abs(score)) // 2
    return min(1.0, 2 * sum(counts[: fewest + 1]) / math.factorial(n))


def standing(p_values: Sequence[float]) -> list[bool]:
    """Which of these stand at 5 % together, by Holm's step-down."""
    order = sorted(range(len(p_values)), key=p_values.__getitem__)
    stands = [False] * len(p_values)
    for step, index in enumerate(order):
        if p_values[index] > SIGNIFICANCE / (len(p_values) - step):
            break
        stands[index] = True
    return stands
