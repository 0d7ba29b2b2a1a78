"""The physics of a bend: worked values, published figures, and its properties.

Worked values marked "by hand" were computed apart from this code from the formula stated, with E = 200 GPa, 7850 kg/m3
and a scale of 648 mm.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from pedal.theory.cents import cents_between, hz_of
from pedal.theory.force import StretchedString, push_for
from pedal.theory.spelling import parse_pitch
from pedal.theory.strings import GuitarString, parse_string_set

NEWTONS_A_POUND = 4.4482216
E4, B3, G3 = (
    StretchedString(GuitarString(gauge), hz_of(parse_pitch(note)))
    for gauge, note in ((0.010, "E4"), (0.013, "B3"), (0.017, "G3"))
)
strings = st.builds(
    StretchedString,
    st.builds(GuitarString, st.floats(0.008, 0.020)),
    st.floats(150, 350),
    st.floats(0.60, 0.69),
    st.floats(0, 0.15),
    st.floats(0, 2e-5),
)
shares = st.integers(1, 22).map(lambda fret: 2 ** (-fret / 12))
rises = st.floats(0.1, 4)


def cents_at(stretched: StretchedString, *, fret_share: float, travel_m: float) -> float:
    """Rise in cents after the finger travelled `travel_m` sideways (case A, first order): the inverse of `push_for`."""
    speaking_m = stretched.scale_m * fret_share
    behind_m = stretched.scale_m - speaking_m
    stretch_m = math.hypot(behind_m, travel_m) + math.hypot(speaking_m, travel_m) - stretched.scale_m
    return 600 * math.log2(1 + stretch_m / stretched.give_m_n / stretched.rest_n)


def locked_hz(stretched: StretchedString, *, fret_share: float, angle_rad: float) -> float:
    """Frequency of a string bent by an angle and locked at the fret (case B, full): Grimes's formula.

    nu = sqrt((E A + cos th (T - E A)) / mu) / (2 L); at an angle of zero it is the string at rest.
    """
    stretch_n = stretched.string.stretch_n
    inside = stretch_n + math.cos(angle_rad) * (stretched.rest_n - stretch_n)
    return math.sqrt(inside / stretched.string.mass_kg_m) / (2 * stretched.scale_m * fret_share)


@pytest.mark.parametrize(("string", "newtons"), [(E4, 72.59), (B3, 68.85), (G3, 74.17)])
def test_tension_at_rest_by_hand(string: StretchedString, newtons: float) -> None:
    """T = mu (2 L f)^2."""
    assert string.rest_n == pytest.approx(newtons, abs=0.005)


def test_tension_at_rest_as_the_maker_prints_it(outside: dict[str, Any]) -> None:
    for words, note, pounds in outside["tension_lb"]["values"]:
        (string,) = parse_string_set(words)
        rest_n = StretchedString(string, hz_of(parse_pitch(note)), scale_m=25.5 * 0.0254).rest_n
        assert rest_n / NEWTONS_A_POUND == pytest.approx(pounds, rel=0.03), words


def test_a_published_bend_of_a_light_string(outside: dict[str, Any]) -> None:
    published = outside["bent_travel"]
    string = StretchedString(GuitarString(0.009), hz_of(64))
    push = push_for(string, fret_share=0.5, semitones=2)
    stretch_mm = 1e3 * (push.tension_n - string.rest_n) * string.give_m_n
    assert string.rest_n == pytest.approx(published["rest_n"], rel=0.02)
    assert stretch_mm == pytest.approx(published["stretch_mm"], abs=0.05)
    assert 1e3 * push.travel_m == pytest.approx(published["travel_mm"], abs=0.15)


@pytest.mark.parametrize(
    ("string", "semitones", "travel_and_force"),
    [
        (E4, 1, ((9.94, 9.30), (13.11, 7.06), (13.57, 6.82))),
        (E4, 2, ((14.49, 15.16), (19.10, 11.54), (19.78, 11.15))),
        (E4, 3, ((18.32, 21.41), (24.12, 16.33), (24.98, 15.78))),
        (B3, 1, ((7.44, 6.62), (9.82, 5.02), (10.17, 4.85))),
        (B3, 2, ((10.85, 10.80), (14.31, 8.21), (14.82, 7.93))),
        (B3, 3, ((13.70, 15.28), (18.06, 11.62), (18.71, 11.22))),
        (G3, 1, ((5.91, 5.66), (7.79, 4.29), (8.07, 4.15))),
        (G3, 2, ((8.61, 9.25), (11.35, 7.02), (11.76, 6.78))),
        (G3, 3, ((10.87, 13.09), (14.34, 9.94), (14.84, 9.60))),
    ],
)
def test_travel_and_force_by_hand(string: StretchedString, semitones: int, travel_and_force: tuple) -> None:
    """At frets 3, 8 and 12, the string free over fret and nut."""
    for fret, (travel_mm, force_n) in zip((3, 8, 12), travel_and_force, strict=True):
        push = push_for(string, fret_share=2 ** (-fret / 12), semitones=semitones)
        assert 1e3 * push.travel_m == pytest.approx(travel_mm, abs=0.006)
        assert push.force_n == pytest.approx(force_n, abs=0.006)


@pytest.mark.parametrize(
    ("string", "semitones", "travel_mm", "force_n"),
    [
        (E4, 1, 14.58, 7.33),
        (E4, 2, 21.25, 11.97),
        (E4, 3, 26.84, 16.95),
        (B3, 2, 15.92, 8.51),
        (G3, 2, 12.63, 7.28),
    ],
)
def test_a_hundred_millimetres_behind_the_nut_by_hand(
    string: StretchedString, semitones: int, travel_mm: float, force_n: float
) -> None:
    """At fret 12, with 100 mm of string that can slide through nut and saddle."""
    free = StretchedString(string.string, string.open_hz, after_m=0.1)
    push = push_for(free, fret_share=0.5, semitones=semitones)
    assert 1e3 * push.travel_m == pytest.approx(travel_mm, abs=0.006)
    assert push.force_n == pytest.approx(force_n, abs=0.006)


@pytest.mark.parametrize(
    ("string", "fret", "travel_mm", "cents"), [(E4, 12, 10, 55.713), (B3, 8, 10, 103.509), (G3, 7, 8, 110.021)]
)
def test_cents_of_a_travel_by_hand(string: StretchedString, fret: int, travel_mm: float, cents: float) -> None:
    assert cents_at(string, fret_share=2 ** (-fret / 12), travel_m=travel_mm / 1e3) == pytest.approx(cents, abs=6e-4)


@pytest.mark.parametrize(("cents", "travel_mm"), [(15, 2.23), (35, 3.43), (50, 4.11), (75, 5.08)])
def test_a_curl_is_a_matter_of_millimetres_by_hand(cents: float, travel_mm: float) -> None:
    push = push_for(G3, fret_share=2 ** (-3 / 12), semitones=cents / 100)
    assert 1e3 * push.travel_m == pytest.approx(travel_mm, abs=0.006)


@pytest.mark.parametrize(("degrees", "cents"), [(0, 0), (1, 18.08), (2, 70.17), (3, 150.54), (4, 251.81), (5, 366.67)])
def test_grimess_formula_at_worked_angles(degrees: float, cents: float) -> None:
    """Grimes 2014, PLoS ONE 9(7) e102088, as read at second hand: sqrt((E A + cos th (T - E A)) / mu) / (2 L)."""
    rest_hz = locked_hz(E4, fret_share=0.5, angle_rad=0)
    bent_hz = locked_hz(E4, fret_share=0.5, angle_rad=math.radians(degrees))
    assert rest_hz == pytest.approx(2 * E4.open_hz, rel=1e-12)
    assert cents_between(rest_hz, bent_hz) == pytest.approx(cents, abs=0.006)


@pytest.mark.parametrize(("semitones", "degrees"), [(1, 2.4087), (2, 3.5094), (3, 4.4306)])
def test_grimess_formula_gives_the_angles_of_whole_semitones(semitones: int, degrees: float) -> None:
    bent_hz = locked_hz(E4, fret_share=0.5, angle_rad=math.radians(degrees))
    assert cents_between(2 * E4.open_hz, bent_hz) == pytest.approx(100 * semitones, abs=0.02)


def test_our_locked_bound_is_grimess_case_to_first_order() -> None:
    """The two differ by the string's own lengthening alone: under 4 cents up to three semitones."""
    for semitones in (1, 2, 3):
        push = push_for(E4, fret_share=0.5, semitones=semitones)
        angle = math.atan2(push.locked_travel_m, 0.324)
        heard = cents_between(2 * E4.open_hz, locked_hz(E4, fret_share=0.5, angle_rad=angle))
        assert heard == pytest.approx(100 * semitones, abs=4)


def test_a_string_locked_at_the_third_fret_would_need_most_of_the_fingerboard() -> None:
    push = push_for(E4, fret_share=2 ** (-3 / 12), semitones=2)
    assert 1e3 * push.locked_travel_m == pytest.approx(33.3, abs=0.05)


def test_at_mid_string_the_two_cases_meet() -> None:
    push = push_for(E4, fret_share=0.5, semitones=2)
    assert push.locked_travel_m == pytest.approx(push.travel_m, rel=1e-9)


def test_shares_of_the_breaking_strength_by_hand() -> None:
    """Against 387 ksi: 53.7 % at rest; bent by one to five semitones as listed."""
    assert E4.rest_n / E4.string.breaking_n == pytest.approx(0.537, abs=5e-4)
    for semitones, share in zip(range(1, 6), (0.603, 0.676, 0.759, 0.852, 0.957), strict=True):
        assert push_for(E4, fret_share=0.5, semitones=semitones).breaking_share == pytest.approx(share, abs=1.1e-3)


@pytest.mark.parametrize(
    ("semitones", "factor"), [(0.5, 1.0595), (1, 1.12246), (2, 1.25992), (3, 1.41421), (4, 1.58740)]
)
def test_two_semitones_take_two_to_the_third_of_tension(semitones: float, factor: float) -> None:
    """2^(s/6): tension goes with the square of the frequency."""
    assert push_for(G3, fret_share=0.5, semitones=semitones).tension_n / G3.rest_n == pytest.approx(factor, abs=5e-5)


@given(strings, shares, rises)
def test_travel_and_cents_are_inverse(string: StretchedString, share: float, semitones: float) -> None:
    push = push_for(string, fret_share=share, semitones=semitones)
    assert cents_at(string, fret_share=share, travel_m=push.travel_m) == pytest.approx(100 * semitones, abs=1e-5)


@given(strings, shares, rises)
def test_the_closed_form_is_what_a_root_finder_finds(string: StretchedString, share: float, semitones: float) -> None:
    """SciPy's brentq on the path itself."""

    def miss(travel_m: float) -> float:
        return cents_at(string, fret_share=share, travel_m=travel_m) - 100 * semitones

    assert push_for(string, fret_share=share, semitones=semitones).travel_m == pytest.approx(
        brentq(miss, 0, 0.5), rel=1e-6
    )


@given(strings, shares, rises, rises)
def test_further_is_harder(string: StretchedString, share: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    less, more = (push_for(string, fret_share=share, semitones=semitones) for semitones in (low, high))
    assert less.travel_m <= more.travel_m
    assert less.force_n <= more.force_n
    assert less.breaking_share <= more.breaking_share


@given(strings, shares, rises)
def test_give_behind_the_nut_costs_travel_and_force(string: StretchedString, share: float, semitones: float) -> None:
    locked = StretchedString(string.string, string.open_hz, string.scale_m)
    free = push_for(string, fret_share=share, semitones=semitones)
    firm = push_for(locked, fret_share=share, semitones=semitones)
    assert free.travel_m >= firm.travel_m * (1 - 1e-12)
    assert free.force_n >= firm.force_n * (1 - 1e-12)


@given(st.floats(0.008, 0.020), st.floats(0.008, 0.020), shares, rises)
def test_travel_does_not_depend_on_the_gauge_but_force_goes_with_its_square(
    one: float, other: float, share: float, semitones: float
) -> None:
    pushes = [
        push_for(StretchedString(GuitarString(gauge), 220.0), fret_share=share, semitones=semitones)
        for gauge in (one, other)
    ]
    assert pushes[0].travel_m == pytest.approx(pushes[1].travel_m, rel=1e-9)
    assert pushes[0].force_n / pushes[1].force_n == pytest.approx((one / other) ** 2, rel=1e-9)


@given(strings, rises)
def test_mid_string_takes_the_most_travel_and_the_least_force(string: StretchedString, semitones: float) -> None:
    pushes = [push_for(string, fret_share=2 ** (-fret / 12), semitones=semitones) for fret in range(1, 23)]
    assert max(pushes, key=lambda push: push.travel_m) is pushes[11]
    assert min(pushes, key=lambda push: push.force_n) is pushes[11]


@pytest.mark.parametrize(
    ("share", "semitones", "sentence"),
    [
        (0, 1, "fret_share"),
        (1, 1, "fret_share"),
        (0.5, 0, "semitones"),
        (0.5, -1, "semitones"),
        (0.5, 5.1, "at most 5"),
        (math.nan, 1, "fret_share"),
        (0.5, math.nan, "semitones"),
    ],
)
def test_impossible_bends_are_refused(share: float, semitones: float, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        push_for(E4, fret_share=share, semitones=semitones)


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"open_hz": 0}, "open_hz must be above 0"),
        ({"scale_m": -1}, "scale_m must be above 0"),
        ({"after_m": -0.1}, "after_m must be at least 0"),
        ({"compliance_m_n": math.nan}, "compliance_m_n"),
    ],
)
def test_impossible_strings_are_refused(fault: dict[str, float], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        StretchedString(**{"string": GuitarString(0.010), "open_hz": 330.0} | fault)
