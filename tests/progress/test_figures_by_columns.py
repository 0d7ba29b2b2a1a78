"""The figures of columns are, to the last bit, those of the plain computation that they replaced (`oracle_figures`)."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from statistics import median

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.progress import figures, trend
from pedal.progress.logged_note import LoggedNote
from pedal.progress.trend import theil_sen
from tests.progress import oracle_figures as oracle
from tests.progress.invented_month import CLEAN, Habit, notes
from tests.progress.tries_at_hand import tries_of

KINDS = ["bend", "bend_release", "prebend", "prebend_release", "curl", "steady", "slide", "unclear"]
WORDS = ["true", "near", "flat", "sharp", "released", "unclear"]


def mixed(seed: int, sessions: int = 24, most: int | None = None) -> list[LoggedNote]:
    """A month (or its first notes) in which anything may be missing, be of any kind, or equal something else."""
    noise = np.random.default_rng(seed)
    found = []
    for note in notes(CLEAN | {"b7→1": Habit(bias=-20.0, last_bias=-4.0)}, seed=seed, tries=4, most=most):
        changes: dict[str, object] = {}
        for name in ("error_cents", "bend_cents", "rise_s", "overshoot_cents"):
            if noise.random() < 0.15:
                changes[name] = None
            elif noise.random() < 0.3:
                changes[name] = float(noise.integers(-3, 4))
        if noise.random() < 0.2:
            changes["kind"], changes["verdict"] = str(noise.choice(KINDS)), str(noise.choice(WORDS))
        found.append(
            replace(
                note,
                verdict=replace(note.verdict, **changes),
                session=int(noise.integers(1, sessions + 1)) if seed % 2 else note.session,
                mode=str(noise.choice(["watch", "ladder"])),
                key=str(noise.choice(["G minor pentatonic", "A blues"])),
                string=None if noise.random() < 0.1 else note.string,
                position=None if noise.random() < 0.1 else note.position,
            )
        )
    return found


@pytest.mark.parametrize("seed", range(12))
def test_every_table_is_that_of_the_plain_computation(seed: int) -> None:
    played = mixed(seed)
    tries = tries_of(played)
    assert figures.figures_of("all", tries) == oracle.figures_of("all", played)
    assert figures.target_table(tries) == oracle.target_table(played)
    for name, by in oracle.GROUPINGS.items():
        assert figures.table(tries, name) == oracle.table(played, by), name
        plain = oracle.grouped(played, by)
        assert {group: len(part) for group, part in figures.grouped(tries, name)} == {
            g: len(p) for g, p in plain.items()
        }


@given(st.integers(0, 10_000), st.integers(0, 60))
@settings(max_examples=60)
def test_of_any_few_notes_as_well(seed: int, count: int) -> None:
    played = mixed(seed, most=count)
    assert figures.figures_of("all", tries_of(played)) == oracle.figures_of("all", played)
    assert figures.target_table(tries_of(played)) == oracle.target_table(played)


@pytest.mark.parametrize("kept", [1, 50, 3000])
@pytest.mark.parametrize("kind", ["normal", "ties", "equal", "rising", "two values", "huge"])
@pytest.mark.parametrize("n", [6, 61, 200])
def test_the_middle_slope_is_exact_when_not_all_slopes_are_kept(
    monkeypatch: pytest.MonkeyPatch, n: int, kind: str, kept: int
) -> None:
    noise = np.random.default_rng(n)
    values = {
        "normal": noise.normal(0, 9, n),
        "ties": noise.integers(0, 4, n).astype(float),
        "equal": np.full(n, 3.0),
        "rising": np.arange(n) * 0.1,
        "two values": (noise.random(n) < 0.5).astype(float),
        "huge": noise.normal(0, 1, n) ** 9 * 1e9,
    }[kind].tolist()
    monkeypatch.setattr(trend, "_KEPT_AT_ONCE", 0)
    monkeypatch.setattr(trend, "_SAMPLED", kept)
    assert theil_sen(values) == median((values[j] - values[i]) / (j - i) for i, j in combinations(range(n), 2))


@pytest.mark.parametrize("n", [6, 60, 300])
def test_the_order_of_sessions_scores_as_pair_by_pair(n: int) -> None:
    values = np.random.default_rng(n).integers(0, 3 * n, n).astype(float).tolist()
    assert trend.mann_kendall_p(values) == oracle.mann_kendall_p(values)


@pytest.mark.parametrize("sessions", [1, 99, 100, 101, 200, 201])
def test_every_session_has_its_middle_miss_however_many_there_are(sessions: int) -> None:
    """They are worked out a hundred at a time."""
    month = notes({"b7→1": Habit()}, seed=1, tries=3)[:3]
    tries = tries_of(
        replace(note, session=at, verdict=replace(note.verdict, error_cents=float(at + off)))
        for at in range(1, sessions + 1)
        for note, off in zip(month, (-1, 0, 1), strict=True)
    )
    assert figures.misses_by_session(tries) == [(at, float(at)) for at in range(1, sessions + 1)]


@pytest.mark.parametrize(("tries", "told"), [(2, 0), (3, 1)])
def test_a_session_of_two_tries_has_no_middle(tries: int, told: int) -> None:
    month = [replace(note, session=1) for note in notes({"b7→1": Habit()}, seed=1)[:tries]]
    assert len(figures.misses_by_session(tries_of(month))) == told
