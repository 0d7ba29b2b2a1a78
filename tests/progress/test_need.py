"""The rule of practice that learns."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from pedal.progress.need import Try, bias_of, need_of, neediest, spread_of

# Written out, and not taken from the code, so that a change of it is seen.
CAP, HALF_REST_S, RECENT, UNTRIED = 3.0, 600.0, 8, 1.5

errors = st.lists(st.floats(-100, 100), min_size=1, max_size=20)


def tries(*cents: float, from_s: float = 0.0) -> list[Try]:
    return [Try(from_s + i, error) for i, error in enumerate(cents)]


@given(errors)
def test_bias_and_spread_are_the_median_and_the_normal_mad(cents: list[float]):
    assert bias_of(cents) == pytest.approx(np.median(cents))
    if len(cents) > 1:
        # 1.4826 = 1 / 0.67449, as scipy's scale="normal" has it, to its five figures.
        assert spread_of(cents) == pytest.approx(median_abs_deviation(cents, scale="normal"), rel=1e-4, abs=1e-9)


def test_one_try_has_a_bias_but_no_spread_and_none_has_neither():
    assert (bias_of([7.0]), spread_of([7.0]), bias_of([]), spread_of([])) == (7.0, None, None, None)


@given(errors, st.floats(0, 1e6))
def test_need_is_bounded(cents: list[float], age_s: float):
    assert 0.0 <= need_of(tries(*cents), len(cents) + age_s) <= 2 * CAP + 1.0


@pytest.mark.parametrize(
    ("cents", "age_s", "need"),
    [
        ((), 0.0, UNTRIED),
        ((0.0,), 0.0, 0.0),
        ((25.0,), 0.0, 1.0),
        ((-50.0,), 0.0, 2.0),
        ((0.0,), HALF_REST_S, 0.5),
        ((-10.0, 0.0, 10.0), 0.0, 14.826 / 25.0),
        ((-100.0,), 0.0, CAP),
    ],
)
def test_worked_values(cents: tuple[float, ...], age_s: float, need: float):
    assert need_of(tries(*cents), max(0, len(cents) - 1) + age_s) == pytest.approx(need)


@given(st.floats(0, 60), st.floats(0.1, 14), st.floats(0, 1e4))
def test_need_grows_with_bias_spread_and_time(bias: float, more: float, age_s: float):
    def need(middle: float, scatter: float, now_s: float) -> float:
        return need_of(tries(middle - scatter, middle, middle + scatter), now_s)

    assert need(bias + more, 5.0, age_s) > need(bias, 5.0, age_s)
    assert need(bias, 5.0 + more, age_s) > need(bias, 5.0, age_s)
    assert need(bias, 5.0, age_s + 60.0) > need(bias, 5.0, age_s) or age_s > 9e3
    assert need(-bias, 5.0, age_s) == pytest.approx(need(bias, 5.0, age_s))


def test_only_the_latest_tries_count_so_that_a_habit_that_is_cured_is_forgotten():
    assert need_of(tries(*[-80.0] * 20, *[0.0] * RECENT), 27.0) == 0.0


def test_one_slip_is_no_habit():
    assert need_of(tries(0.0, 1.0, -90.0, 0.0, -1.0), 4.0) < 0.1


def test_the_untried_comes_before_the_good_and_after_the_bad():
    past = {"good": tries(2.0, -1.0), "bad": tries(-60.0, -70.0)}
    assert neediest(["good", "new", "bad"], past, now_s=2.0) == "bad"
    assert neediest(["good", "new"], past, now_s=2.0) == "new"


def test_of_equals_the_first_in_order_and_never_the_one_just_played():
    assert neediest(["a", "b", "c"], {}, now_s=0.0) == "a"
    assert neediest(["a", "b", "c"], {}, now_s=0.0, just_played="a") == "b"
    assert neediest(["a"], {}, now_s=0.0, just_played="a") == "a"


def test_tries_of_earlier_sessions_lie_before_zero_and_have_rested():
    assert need_of([Try(-86_400.0, 0.0)], 0.0) == pytest.approx(1.0)


def test_without_targets_there_is_nothing_to_choose():
    with pytest.raises(ValueError, match="targets must hold at least one name, got none"):
        neediest([], {}, now_s=0.0)


def test_what_is_practised_by_need_evens_out(rng: np.random.Generator):
    """A player whose bends improve by practice: after a session by need, the worst bend is better than in order."""

    def session(by_need: bool) -> float:
        skill = {"a": 5.0, "b": 40.0, "c": 10.0, "d": 20.0}
        past: dict[str, list[Try]] = {}
        just = None
        for n in range(60):
            name = neediest(list(skill), past, now_s=5.0 * n, just_played=just) if by_need else "abcd"[n % 4]
            past.setdefault(name, []).append(Try(5.0 * n, -skill[name] + rng.normal(0.0, 2.0)))
            skill[name] *= 0.96
            just = name
        return max(skill.values())

    assert session(by_need=True) < 0.8 * session(by_need=False)
