"""Each formula against somebody else's: SciPy, pymannkendall, and counting every possible order."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pymannkendall
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pedal.progress.intervals import median_estimate, share_estimate
from pedal.progress.trend import _between, mann_kendall_p, standing, theil_sen, trend_of

values = st.lists(st.floats(-100, 100, allow_subnormal=False), min_size=6, max_size=60, unique=True)


@given(values)
def test_the_interval_of_a_median_is_scipys(sample: list[float]) -> None:
    ours, theirs = median_estimate(sample), stats.quantile_test(sample, q=0, p=0.5).confidence_interval(0.95)
    assert ours.value == np.median(sample)
    assert (ours.low, ours.high) == (theirs.low, theirs.high)


@pytest.mark.parametrize("n", range(1, 6))
def test_five_tries_bound_nothing(n: int) -> None:
    estimate = median_estimate(list(range(n)))
    assert (estimate.low, estimate.high, estimate.bounded) == (-math.inf, math.inf, False)
    assert not estimate.beyond(0.0)


def test_the_interval_of_a_median_covers_as_often_as_it_says(rng: np.random.Generator) -> None:
    covered = 0
    for _ in range(2000):
        estimate = median_estimate(list(rng.laplace(-22.0, 9.0, 15)))
        covered += estimate.low <= -22.0 <= estimate.high
    assert covered / 2000 >= 0.95 - 3 * math.sqrt(0.05 * 0.95 / 2000)


@given(st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_of_a_share_is_scipys_wilson(counts: tuple[int, int]) -> None:
    ours = share_estimate(*counts)
    theirs = stats.binomtest(*counts).proportion_ci(0.95, method="wilson")
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_nothing_tried_is_nothing_known() -> None:
    assert share_estimate(0, 0) is None
    assert median_estimate([]) is None


@given(values)
def test_the_slope_is_scipys(sample: list[float]) -> None:
    assert theil_sen(sample) == pytest.approx(stats.theilslopes(sample).slope, rel=1e-9, abs=1e-9)


@given(st.lists(st.floats(-100, 100, allow_subnormal=False), min_size=6, max_size=40, unique=True))
def test_the_exact_p_of_a_trend_is_scipys(sample: list[float]) -> None:
    theirs = stats.kendalltau(range(len(sample)), sample, method="exact").pvalue
    assert mann_kendall_p(sample) == pytest.approx(theirs, rel=1e-9)


@given(st.lists(st.sampled_from([0.0, 0.25, 0.5, 1.0]), min_size=6, max_size=40))
def test_with_ties_it_is_the_usual_normal_one(sample: list[float]) -> None:
    if len(set(sample)) > 1:
        assert mann_kendall_p(sample) == pytest.approx(pymannkendall.original_test(sample).p, rel=1e-9)
    else:
        assert mann_kendall_p(sample) == 1.0


@pytest.mark.parametrize("sample", [(0, 0, 1, 1, 2, 2, 3), (1, 1, 1, 0, 0, 0), (3, 1, 2, 2, 5, 4, 4)])
def test_with_ties_the_normal_p_is_near_what_counting_all_orders_gives(sample: tuple[int, ...]) -> None:
    def score(order: tuple[int, ...]) -> int:
        return abs(sum((b > a) - (b < a) for a, b in itertools.combinations(order, 2)))

    scores = [score(order) for order in itertools.permutations(sample)]
    counted = sum(s >= score(sample) for s in scores) / len(scores)
    assert mann_kendall_p(sample) == pytest.approx(counted, abs=0.035)


def test_a_perfect_order_of_six_has_two_chances_in_720() -> None:
    assert mann_kendall_p([1, 2, 3, 4, 5, 6]) == pytest.approx(2 / 720)
    assert trend_of([5, 4, 3, 2, 1]) is None, "five sessions are too few"


@given(st.lists(st.floats(0, 1), min_size=1, max_size=12))
def test_what_stands_together_are_holms_adjusted_p_values(p_values: list[float]) -> None:
    """Holm by his adjusted values: p, the running maximum of (m - rank) p, compared with 5 %."""
    order = np.argsort(p_values, kind="stable")
    factors = len(p_values) - np.arange(len(p_values))
    adjusted = np.empty(len(p_values))
    adjusted[order] = np.maximum.accumulate(np.asarray(p_values)[order] * factors)
    assert standing(p_values) == pytest.approx(list(adjusted <= 0.05))


@given(
    series=st.lists(st.integers(-3, 3).map(float), min_size=3, max_size=9),
    picked=st.tuples(*[st.integers(0, 35)] * 4),
)
def test_a_slope_of_any_rank_is_found_between_any_two_others(series: list[float], picked: tuple[int, ...]) -> None:
    """Ranks counted from all slopes at once, ties and both edges among them; None where one lies outside."""
    slopes = sorted((series[j] - series[i]) / (j - i) for i in range(len(series)) for j in range(i + 1, len(series)))
    low, high, one, other = (slopes[pick % len(slopes)] for pick in picked)
    low, high = min(low, high), max(low, high)
    first, second = sorted(pick % len(slopes) for pick in picked[2:])
    found = _between(np.array(series), low, high, (first, second))
    if low <= min(one, other) and max(one, other) <= high:
        assert found == (slopes[first] + slopes[second]) / 2
    else:
        assert found is None
