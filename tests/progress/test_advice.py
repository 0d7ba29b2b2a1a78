"""What the advice says of players whose habits are known: the habit put in, with its figure, and nothing else."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
import pytest

from pedal.progress.advice import Advice, advise, silence
from pedal.progress.figures import figures_of, target_table
from pedal.progress.logged_note import LoggedNote
from tests.progress.invented_month import CLEAN, Habit, notes
from tests.progress.tries_at_hand import tries_of


def said(habits: dict[str, Habit], *, seed: int = 1, tries: int = 6) -> list[Advice]:
    return advise(tries_of(notes(CLEAN | habits, seed=seed, tries=tries)))


def test_a_teachers_hour() -> None:
    """The example of the handbook: flat from the seventh, worse on the third string, curls let go four times in ten."""
    first, second, *others = said(
        {
            "b7→1": Habit(bias=-20.0, scatter=9.0, bias_by_string={3: -31.0}),
            "b3 curl": Habit(bias=38.0, released=0.4),
        },
        seed=2,
    )
    assert re.fullmatch(
        r"Your bends ♭7→1 stop 2[0-6] cents flat, (2[89]|3[0-4]) on string 3: aim higher "
        r"\(median of 144 tries, 95\xa0% interval −2\d to −[12]\d\)\.",
        first.sentence,
    )
    assert re.fullmatch(
        r"Your curls on ♭3 are released [34]\d times in 100: stop the string while it is up "
        r"\(144 tries, 95\xa0% interval [23]\d to [45]\d\xa0%\)\.",
        second.sentence,
    )
    assert others == []


@pytest.mark.parametrize(
    ("target", "habit", "rule", "words", "fault"),
    [
        ("b7→1", Habit(bias=-14.0), "leaning", "cents flat: aim higher", r"−1\d"),
        ("1→b3", Habit(bias=+14.0), "leaning", "cents sharp: aim lower", r"\+1\d"),
        ("pre-bend to 1", Habit(bias=+18.0, scatter=12.0), "leaning", "Your pre-bends to 1 go 1", r"\+1\d"),
        ("b7 curl", Habit(bias=38.0, released=0.35), "released", "times in 100: stop the string", "released"),
        ("b3 curl", Habit(bias=6.0, scatter=3.0), "outside the zone", "stay under the blue zone with 6 cents", "low"),
        ("b3 curl", Habit(bias=80.0, scatter=6.0), "outside the zone", "go over the blue zone with 80 cents", "high"),
        ("4→5", Habit(scatter=32.0), "scattered", "cents to both sides", r"±\d\d"),
        ("5→b7", Habit(overshoot=28.0), "overshot", "cents past where they settle", "over"),
        ("b3→4", Habit(bias=-38.0, last_bias=-8.0), "moving", "get truer: middle miss from 3", "truer"),
        ("b3→4", Habit(bias=8.0, last_bias=38.0), "moving", "get less true", "less true"),
    ],
)  # fmt: skip
def test_each_rule_finds_the_habit_it_is_for(target: str, habit: Habit, rule: str, words: str, fault: str) -> None:
    advice = said({target: habit})
    assert {one.target for one in advice} == {target}, "nothing is said of what is in order"
    (fitting,) = [one for one in advice if one.rule == rule]
    assert words in fitting.sentence
    assert re.fullmatch(fault, fitting.fault), "what a glance at Recall says of it"
    assert re.search(r"\d", fitting.sentence)


@pytest.mark.parametrize("side", [-1.0, 1.0])
@pytest.mark.parametrize(
    ("by_string", "named"),
    [
        ({2: 25.0, 3: 38.0}, "3"), ({2: 38.0, 3: 25.0}, "2"), ({6: 25.0}, "6"), ({}, None), ({2: 2.0}, None),
        ({2: 12.0}, "2"), ({2: 10.1}, None),
    ],
)  # fmt: skip
def test_the_string_that_surely_leans_furthest_beyond_the_others_is_named(
    side: float, by_string: dict, named: str | None
) -> None:
    """The others lean by 10 cents, each try half a cent off to both sides in turn."""
    tries = []
    for at, note in enumerate(notes({"b7→1": Habit()}, seed=1)):
        string = 1 + at % 6
        off = by_string.get(string, 10.0) + (0.5 if at // 6 % 2 else -0.5)
        tries.append(replace(note, string=string, verdict=replace(note.verdict, error_cents=side * off)))
    (one,) = [one for one in advise(tries_of(tries)) if one.rule == "leaning"]
    found = re.search(r", (\d+) on string (\d)", one.sentence)
    assert (found and found[2]) == named
    assert not found or float(found[1]) == pytest.approx(by_string[int(found[2])], abs=1.0)


@pytest.mark.parametrize("released", [0.3, 0.6])
def test_ten_curls_released_in_a_hundred_weigh_as_much_as_five_cents(released: float) -> None:
    (one,) = [one for one in said({"b7 curl": Habit(bias=38.0, released=released)}) if one.rule == "released"]
    times = float(re.search(r"(\d+) times in 100", one.sentence)[1])
    assert one.weight == pytest.approx(times / 10 * 5.0, abs=0.25)


@pytest.mark.parametrize(("bias", "rules"), [(4.9, []), (-4.9, []), (5.1, ["leaning"]), (-5.1, ["leaning"])])
def test_what_is_surely_less_than_five_cents_is_not_spoken_of(bias: float, rules: list[str]) -> None:
    """Half of the band that counts as true; the bends of this player fall on one spot, so the interval has no width."""
    assert [one.rule for one in said({"4→5": Habit(bias=bias, scatter=0.0)})] == rules


def test_never_more_than_three_sentences() -> None:
    assert len(said({target: Habit(bias=-25.0 - n) for n, target in enumerate(CLEAN)})) == 3


def test_the_weightiest_comes_first() -> None:
    advice = said({"4→5": Habit(bias=12.0), "b7→1": Habit(bias=-30.0), "1→b3": Habit(bias=20.0)})
    assert [one.target for one in advice] == ["b7→1", "1→b3", "4→5"]


@pytest.mark.parametrize("n", [0, 1, 9])
def test_too_few_tries_say_nothing(n: int) -> None:
    few = [note for note in notes(CLEAN | {"b7→1": Habit(bias=-40.0)}, seed=3) if note.target == "b7→1"][:n]
    assert advise(tries_of(few)) == []
    assert silence(tries_of(few)) == (
        "No bend has been judged yet."
        if n == 0
        else f"Nothing can be said before there are 10 tries of one target; so far there are {n}."
    )


def test_ten_tries_of_a_plain_fault_are_enough() -> None:
    ten = [note for note in notes(CLEAN | {"b7→1": Habit(bias=-40.0)}, seed=3) if note.target == "b7→1"][:10]
    assert [one.rule for one in advise(tries_of(ten))] == ["leaning"]


def test_level_notes_and_refusals_are_no_tries() -> None:
    (note,) = notes({"b7→1": Habit()}, seed=1)[:1]
    others = [
        replace(note, verdict=replace(note.verdict, kind=kind, verdict="unclear"))
        for kind in ("steady", "slide", "hammer_on", "unclear", "bend")
    ]
    assert figures_of("", tries_of([note, *others])).tries == 1


@dataclass
class Tally:
    right: int = 0
    wrong: int = 0
    missed: int = 0


def faults_of(rng: np.random.Generator) -> dict[str, Habit]:
    """Up to three habits, each plain enough that a teacher would speak of it."""
    chosen = rng.choice(list(CLEAN), int(rng.integers(0, 4)), replace=False)
    return {target: _curl_fault(rng) if "curl" in target else _bend_fault(rng) for target in map(str, chosen)}


def _bend_fault(rng: np.random.Generator) -> Habit:
    side = 1.0 if rng.random() < 0.5 else -1.0
    return Habit(bias=side * float(rng.uniform(12, 35)), scatter=float(rng.uniform(5, 14)))


def _curl_fault(rng: np.random.Generator) -> Habit:
    if rng.random() < 0.5:
        return Habit(bias=38.0, released=float(rng.uniform(0.3, 0.7)))
    return Habit(bias=float(rng.choice([5.0, 75.0])), scatter=4.0)


def agrees(advice: Advice, faults: dict[str, Habit]) -> bool:
    """Whether a sentence says what was put in, the right way round."""
    habit = faults.get(advice.target)
    if habit is None:
        return False
    if "curl" not in advice.target:
        return advice.rule == "leaning" and ("flat" in advice.sentence) == (habit.bias < 0)
    if habit.released > 0.2:
        return advice.rule == "released"
    return advice.rule == "outside the zone" and ("under" in advice.sentence) == (habit.bias < 15)


def test_sixty_invented_players(rng: np.random.Generator) -> None:
    """Every sentence is of a fault that was put in, and every fault that was put in is spoken of."""
    tally = Tally()
    for seed in range(60):
        faults = faults_of(rng)
        advice = said(faults, seed=seed)
        tally.right += sum(agrees(one, faults) for one in advice)
        tally.wrong += sum(not agrees(one, faults) for one in advice)
        tally.missed += len(set(faults) - {one.target for one in advice})
    print(f"60 invented players: {tally.right} sentences right, {tally.wrong} wrong, {tally.missed} faults missed")
    assert tally.right > 60
    assert tally.wrong == 0
    assert tally.missed == 0


def test_no_trend_is_announced_from_noise() -> None:
    """Forty months without a trend: Holm keeps the chance of announcing any below 5 % a month."""
    announced = 0
    for seed in range(40):
        announced += any(row.trend_stands for row in target_table(tries_of(notes(CLEAN, seed=seed))))
    print(f"months with a trend announced out of noise: {announced} of 40")
    assert announced <= 6, "P(more than 6 of 40 at 5 %) is 0.3 %"


def test_the_bias_put_in_lies_in_the_interval(rng: np.random.Generator) -> None:
    inside = 0
    for seed in range(60):
        bias = float(rng.uniform(-30, 30))
        month: list[LoggedNote] = notes({"b7→1": Habit(bias=bias, scatter=12.0)}, seed=seed, tries=2)
        estimate = figures_of("b7→1", tries_of(month)).bias_cents
        inside += estimate.low <= bias <= estimate.high
    assert inside >= 52, "P(fewer than 52 of 60 at 95 %) is 0.2 %"
