"""Gestures out of bouncing contacts: tables for the grammar, properties for the bounce, a soak for the error rate."""

from __future__ import annotations

import numpy as np
import pytest
from bouncing import Press, edges_of, feel, words
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.modes.gesture import Gesture, GestureRecogniser, GestureTimes, SwitchTrouble, Wishes

EVERYTHING = Wishes(
    long=frozenset({1, 2}), held=frozenset({2, 3}), double=frozenset({4}), both=frozenset({(1, 2), (1, 3)})
)
"""Switch 1: short, long. 2: short, long, held. 3: short, held. 4: short, double."""


def edges(*spans: tuple[int, float, float]) -> list[tuple[float, int, bool]]:
    """Clean edges of (switch, down, up)."""
    return sorted([(down, s, True) for s, down, _ in spans] + [(up, s, False) for s, _, up in spans])


@pytest.mark.parametrize(
    ("spans", "felt"),
    [
        pytest.param([(1, 1.0, 1.15)], [("short", 1)], id="short"),
        pytest.param([(1, 1.0, 2.0)], [("long", 1)], id="long"),
        pytest.param([(1, 1.0, 1.59)], [("short", 1)], id="just under the time of a long press"),
        pytest.param([(4, 1.0, 2.5)], [("short", 4)], id="a slow stamp where no long press is wished for"),
        pytest.param([(2, 1.0, 1.9)], [("long", 2)], id="long where held is wished for too"),
        pytest.param([(2, 1.0, 3.0)], [("held", 2), ("let_go", 2)], id="held where long is wished for too"),
        pytest.param([(3, 1.0, 1.8)], [("held", 3), ("let_go", 3)], id="held alone comes at the time of a long press"),
        pytest.param([(1, 1.0, 1.3), (2, 1.05, 1.31)], [("both", 1, 2)], id="both"),
        pytest.param([(2, 1.0, 1.3), (1, 1.05, 1.31)], [("both", 1, 2)], id="both, the higher switch first"),
        pytest.param([(1, 1.0, 4.0), (2, 1.05, 4.0)], [("both", 1, 2)], id="both, held long"),
        pytest.param([(1, 1.0, 1.3), (2, 1.2, 1.4)], [("short", 1), ("short", 2)], id="one foot after the other"),
        pytest.param([(1, 1.0, 2.0), (2, 1.1, 1.9)], [("long", 1), ("long", 2)], id="a slow second foot"),
        pytest.param([(2, 1.0, 1.3), (3, 1.05, 1.4)], [("short", 2), ("short", 3)], id="both of a pair not wished for"),
        pytest.param([(4, 1.0, 1.1), (4, 1.2, 1.3)], [("double", 4)], id="double"),
        pytest.param([(4, 1.0, 1.1)], [("short", 4)], id="a single press where double is wished for"),
        pytest.param([(4, 1.0, 1.1), (4, 1.4, 1.5)], [("short", 4), ("short", 4)], id="two slow presses"),
        pytest.param(
            [(4, 1.0, 1.1), (4, 1.2, 1.3), (4, 1.4, 1.5)], [("double", 4), ("short", 4)], id="three quick presses"
        ),
        pytest.param([(1, 1.0, 1.1), (1, 1.2, 1.3)], [("short", 1), ("short", 1)], id="no double where none is wished"),
        pytest.param([(1, 1.0, 1.002)], [], id="a glitch of 2 ms"),
        pytest.param([(1, 1.0, 1.3), (1, 1.302, 1.304)], [("short", 1)], id="a foot that lets go slowly"),
        pytest.param([(1, 1.0, 1.1), (1, 1.11, 2.0)], [("long", 1)], id="a dropout of 10 ms cuts no press in two"),
        pytest.param([(1, 1.0, 1.3), (1, 1.4, 2.2)], [("short", 1), ("long", 1)], id="short, then long"),
    ],
)
def test_the_grammar(spans: list, felt: list):
    assert words(feel(GestureRecogniser(EVERYTHING), edges(*spans), until_s=6.0)) == felt


def test_a_short_press_that_waited_for_a_second_one_came_when_none_could_come_any_more():
    (felt,) = feel(GestureRecogniser(EVERYTHING), edges((4, 1.0, 1.1)), until_s=2.0)
    assert felt.time_s == pytest.approx(1.0 + GestureTimes().double_s)


def test_a_short_press_answers_within_30_ms_of_the_release():
    felt = feel(GestureRecogniser(Wishes(long=frozenset({1}))), edges((1, 1.0, 1.2)), until_s=1.2305, tick_s=0.005)
    assert words(felt) == [("short", 1)]


def test_a_long_press_answers_while_the_foot_is_down():
    recogniser = GestureRecogniser(Wishes(long=frozenset({1})))
    assert recogniser.edge(1.0, 1, True) == []
    assert recogniser.tick(1.59) == []
    assert recogniser.tick(1.61) == [Gesture(1.6, "long", (1,))]
    assert recogniser.tick(9.0) == []


def test_times_of_gestures_do_not_depend_on_when_time_is_told():
    spans = edges((2, 1.0, 1.1), (2, 2.0, 2.9), (2, 4.0, 6.0))
    often, seldom = (feel(GestureRecogniser(EVERYTHING), spans, until_s=8.0, tick_s=t) for t in (0.001, 0.5))
    assert often == seldom
    assert len(often) == 4


def test_time_running_backwards_is_no_time_passing():
    recogniser = GestureRecogniser(EVERYTHING)
    recogniser.edge(5.0, 1, True)
    assert recogniser.tick(1.0) == []
    assert words(recogniser.tick(5.7)) == [("long", 1)]
    recogniser.edge(6.0, 2, True)
    recogniser.tick(6.1)
    recogniser.edge(4.0, 2, False)
    assert recogniser.tick(6.2) == [Gesture(6.1, "short", (2,))]


def test_a_slow_stamp_on_a_switch_with_a_double_answers_on_its_release():
    recogniser = GestureRecogniser(EVERYTHING)
    recogniser.edge(1.0, 4, True)
    recogniser.edge(2.0, 4, False)
    assert recogniser.tick(2.05) == [Gesture(2.0, "short", (4,))]


def test_a_release_that_bounces_across_the_time_of_a_hold_counts_by_its_last_edge():
    recogniser = GestureRecogniser(EVERYTHING)
    felt = feel(recogniser, [(1.0, 3, True), (1.595, 3, False), (1.601, 3, True), (1.603, 3, False)], until_s=2.0)
    assert words(felt) == [("held", 3), ("let_go", 3)]


def test_a_switch_that_stays_down_is_reported_once_ignored_and_believed_again_when_it_lets_go():
    recogniser = GestureRecogniser(EVERYTHING)
    felt = feel(recogniser, [(1.0, 3, True)], until_s=40.0, tick_s=0.1)
    assert words(felt) == [("held", 3), ("let_go", 3), ("stuck", 3)]
    assert felt[-1].time_s == pytest.approx(31.0, abs=0.11)
    assert words(feel(recogniser, [(41.0, 3, False), *edges((3, 42.0, 42.1))], until_s=43.0)) == [
        ("well", 3), ("short", 3)
    ]  # fmt: skip


def test_a_stuck_switch_does_not_make_a_pair_with_another():
    recogniser = GestureRecogniser(EVERYTHING)
    feel(recogniser, [(1.0, 1, True)], until_s=40.0, tick_s=0.1)
    assert words(feel(recogniser, edges((2, 41.0, 41.2)), until_s=42.0)) == [("short", 2)]


def test_a_broken_contact_is_reported_once_ignored_and_believed_again_when_quiet(rng: np.random.Generator):
    recogniser = GestureRecogniser(EVERYTHING)
    times = 1.0 + np.cumsum(rng.exponential(0.004, 1000))
    crackle = [(float(t), 1, i % 2 == 0) for i, t in enumerate(times)]
    felt = feel(recogniser, crackle, until_s=float(times[-1]) + 1.0)
    assert words(felt).count(("noisy", 1)) == 1
    after = felt[words(felt).index(("noisy", 1)) + 1 :]
    assert after == []
    assert words(feel(recogniser, edges((1, times[-1] + 4.0, times[-1] + 4.1)), until_s=times[-1] + 5.0)) == [
        ("well", 1), ("short", 1)
    ]  # fmt: skip


def test_a_switch_that_stamps_faster_than_any_foot_is_noisy():
    recogniser = GestureRecogniser(EVERYTHING)
    spans = [(1, 1.0 + 0.08 * i, 1.04 + 0.08 * i) for i in range(40)]
    felt = words(feel(recogniser, edges(*spans), until_s=4.3))
    assert felt.count(("noisy", 1)) == 1
    assert felt.count(("short", 1)) < 12


def test_a_hold_on_a_contact_that_turns_noisy_is_let_go():
    recogniser = GestureRecogniser(EVERYTHING)
    crackle = [(2.0 + 0.003 * i, 3, i % 2 == 1) for i in range(400)]
    felt = words(feel(recogniser, [(1.0, 3, True), *crackle], until_s=3.3))
    assert felt == [("held", 3), ("let_go", 3), ("noisy", 3)]


@pytest.mark.parametrize("times", [{"debounce_s": 0.0}, {"debounce_s": 0.1}, {"long_s": 2.0}, {"both_s": 0.4}])
def test_times_that_do_not_rise_are_refused(times: dict):
    with pytest.raises(ValueError, match="times must rise from debounce_s to stuck_s"):
        GestureTimes(**times)


# -- any foot, any bounce ----------------------------------------------------------------------------------------------


def intended(presses: list[Press]) -> list[tuple[object, ...]]:
    """What the foot meant with presses that do not overlap, on switches 1 to 3."""
    meant: list[tuple[object, ...]] = []
    for press in presses:
        lasted_s = press.up_s - press.down_s
        if press.switch == 1:
            meant.append(("long" if lasted_s > 0.6 else "short", 1))
        elif lasted_s > (1.2 if press.switch == 2 else 0.6):
            meant += [("held", press.switch), ("let_go", press.switch)]
        else:
            meant.append(("long" if press.switch == 2 and lasted_s > 0.6 else "short", press.switch))
    return meant


lengths_s = st.sampled_from([0.06, 0.1, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0])
gaps_s = st.sampled_from([0.15, 0.3, 1.0])


@st.composite
def feet(draw: st.DrawFn) -> list[Press]:
    presses, now_s = [], 1.0
    for _ in range(draw(st.integers(1, 6))):
        lasted_s = draw(lengths_s)
        presses.append(Press(draw(st.integers(1, 3)), now_s, now_s + lasted_s))
        now_s += lasted_s + draw(gaps_s)
    return presses


@given(feet(), st.integers(0, 2**32 - 1), st.sampled_from([0.002, 0.01, 0.02]))
@settings(max_examples=150, deadline=None)
def test_bounce_never_changes_what_was_meant(presses: list[Press], seed: int, tick_s: float):
    raw = edges_of(presses, np.random.default_rng(seed))
    felt = feel(GestureRecogniser(EVERYTHING), raw, until_s=presses[-1].up_s + 1.0, tick_s=tick_s)
    assert words(felt) == intended(presses)


raw_edges = st.lists(st.tuples(st.floats(0.0, 0.7), st.integers(1, 4), st.booleans()), max_size=60)


@given(raw_edges)
@settings(max_examples=300, deadline=None)
def test_any_edges_give_a_legal_sequence(steps: list[tuple[float, int, bool]]):
    recogniser, now_s, felt = GestureRecogniser(EVERYTHING), 0.0, []
    for gap_s, switch, pressed in steps:
        now_s += gap_s
        felt += recogniser.edge(now_s, switch, pressed)
    felt += recogniser.tick(now_s + 1.0) + recogniser.tick(now_s + 40.0)
    holding: set[int] = set()
    ignored: set[int] = set()
    for one in felt:
        if isinstance(one, SwitchTrouble):
            (ignored.discard if one.trouble == "well" else ignored.add)(one.switch)
            continue
        assert not ignored & set(one.switches), "a gesture of a switch that is ignored"
        if one.kind == "let_go":
            assert one.switches[0] in holding
            holding.discard(one.switches[0])
        else:
            assert not holding & set(one.switches), "a gesture of a switch that is still held"
        if one.kind == "held":
            holding.add(one.switches[0])
    assert not holding


@given(raw_edges)
@settings(max_examples=100, deadline=None)
def test_there_are_never_more_gestures_than_presses_of_a_still_contact(steps: list[tuple[float, int, bool]]):
    recogniser, now_s, felt, presses = GestureRecogniser(EVERYTHING), 0.0, [], 0
    for gap_s, switch, pressed in steps:
        now_s += gap_s
        presses += pressed
        felt += recogniser.edge(now_s, switch, pressed)
    felt += recogniser.tick(now_s + 1.0)
    assert sum(isinstance(one, Gesture) and one.kind != "let_go" for one in felt) <= presses


def error_rate(count: int, rng: np.random.Generator, *, freaks: float) -> tuple[int, int]:
    """(wrong, all) gestures over random bouncing presses, each judged by itself."""
    wrong = done = 0
    while done < count:
        presses, now_s = [], 1.0
        for _ in range(20):
            lasted_s = float(rng.choice([rng.uniform(0.06, 0.55), rng.uniform(0.65, 1.1), rng.uniform(1.3, 2.0)]))
            presses.append(Press(int(rng.integers(1, 4)), now_s, now_s + lasted_s))
            now_s += lasted_s + rng.uniform(0.12, 0.6)
        raw = edges_of(presses, rng, freaks=freaks)
        felt = feel(GestureRecogniser(EVERYTHING), raw, until_s=now_s + 1.0, tick_s=0.05)
        wrong += _differences(words(felt), intended(presses))
        done += len(presses)
    return wrong, done


def _differences(felt: list, meant: list) -> int:
    """Fewest insertions, removals and changes between the two."""
    row = list(range(len(meant) + 1))
    for i, one in enumerate(felt, 1):
        before, row[0] = row[0], i
        for j, other in enumerate(meant, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (one != other))
    return row[-1]


def test_two_thousand_bouncing_presses_are_all_felt_as_meant(rng: np.random.Generator):
    assert error_rate(2000, rng, freaks=0.0) == (0, 2000)


@pytest.mark.soak
def test_a_hundred_thousand_bouncing_presses(rng: np.random.Generator, record_property):
    wrong, done = error_rate(100_000, rng, freaks=0.0)
    record_property("gesture_errors_usual_bounce", f"{wrong} of {done}")
    print(f"usual bounce (mean 1.6 ms, at most 15 ms): {wrong} wrong of {done}")
    assert wrong == 0


@pytest.mark.soak
def test_the_worst_bounce_known_costs_no_more_than_its_own_press(rng: np.random.Generator, record_property):
    share, count = 0.01, 100_000
    wrong, done = error_rate(count, rng, freaks=share)
    freaks = share * 2 * done  # two changes a press
    record_property("gesture_errors_one_percent_freaks", f"{wrong} of {done}")
    print(f"one change in a hundred bouncing for 157 ms: {wrong} wrong of {done}, {wrong / freaks:.0%} of the freaks")
    assert wrong < freaks


@given(raw_edges, st.lists(st.floats(0.0, 60.0), min_size=1, max_size=5))
@settings(max_examples=200, deadline=None)
def test_nothing_comes_of_time_alone_while_every_foot_is_still(steps: list, later_s: list[float]):
    recogniser, now_s = GestureRecogniser(EVERYTHING), 0.0
    for gap_s, switch, pressed in steps:
        now_s += gap_s
        recogniser.edge(now_s, switch, pressed)
        if recogniser.still:
            assert recogniser.tick(now_s) == []
    while not recogniser.still:  # it ends: the longest that a foot is waited for is until its switch counts as stuck
        assert now_s < 1000.0
        now_s += 1.0
        recogniser.tick(now_s)
    for at_s in later_s:
        assert recogniser.tick(now_s + at_s) == []
    assert recogniser.still
