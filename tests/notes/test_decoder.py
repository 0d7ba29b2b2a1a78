"""The decoder finds the cheapest story; batches, pruning and the short cut for calm change nothing that matters."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from plain_decoder import PlainDecoder

from pedal.notes import decoder
from pedal.notes.decoder import BIN_S, Decoder
from tests.grids import grid


def bins_of(cents, *, noise: float = 0.4, seed: int = 1, weight: float = 0.6) -> list[tuple[float, float]]:
    cents = np.asarray(cents, dtype=float)
    heard = cents + noise * np.random.default_rng(seed).normal(size=len(cents))
    return [(float(c), weight) for c in heard]


def legs(*parts: tuple[int, float], start: float = 0.0) -> np.ndarray:
    """Cents a bin: (bins, height at their end), each half a cosine, as no polynomial of the decoder is."""
    here, found = start, []
    for n, height in parts:
        found.append(here + (height - here) * (0.5 - 0.5 * np.cos(np.pi * (np.arange(n) + 0.5) / max(1, n))))
        here = height
    return np.concatenate(found)


def any_note(seed: int) -> list[tuple[float, float]]:
    """A random small note: stands, glides, jumps, settling, holes, doubtful bins."""
    rng = np.random.default_rng(seed)
    here, parts = 0.0, []
    for _ in range(rng.integers(2, 5)):
        parts.append((int(rng.integers(4, 22)), here))
        here += float(rng.choice([-1, 1])) * float(rng.choice([rng.uniform(6, 40), rng.uniform(60, 320)]))
        parts.append((int(rng.choice([0, rng.integers(5, 24)])), here))
    parts.append((int(rng.integers(1, 14)), here))
    cents = legs(*parts, start=0.0)[:80]
    if rng.random() < 0.4:
        cents = cents + rng.uniform(5, 80) * np.exp(-np.arange(len(cents)) * BIN_S / rng.uniform(0.02, 0.3))
    cents = cents[int(rng.choice([0, 0, rng.integers(0, 12)])) :]
    bins = bins_of(cents, noise=float(rng.uniform(0.1, 1.5)), seed=seed, weight=float(rng.uniform(0.2, 1.0)))
    pick = 1.0 / (1.0 + 256.0 * np.exp(-2 * np.arange(len(bins)) * BIN_S / 0.01))
    bins = [(c, w * p) for (c, w), p in zip(bins, pick, strict=True)]
    if rng.random() < 0.3:
        at = int(rng.integers(0, len(bins)))
        bins[at : at + 3] = [(0.0, 0.0)] * len(bins[at : at + 3])
    return bins


def decoded(bins) -> Decoder:
    found = Decoder()
    for cents, weight in bins:
        found.push(cents, weight)
    return found


def brief(path) -> list[tuple]:
    return [(s.kind, s.begin, s.end) for s in path]


def some_of(seeds: range) -> list:
    """Each, the later half for `make soak` alone."""
    half = len(seeds) // 2
    return [*seeds[:half], *(pytest.param(seed, marks=pytest.mark.wide) for seed in seeds[half:])]


SEEDS = some_of(range(24))


@cache
def plain(seed: int) -> PlainDecoder:
    return PlainDecoder(any_note(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_without_short_cuts_every_column_costs_what_plain_least_squares_say(seed, monkeypatch) -> None:
    monkeypatch.setattr(Decoder, "_goes_on", lambda *_: False)
    monkeypatch.setattr(decoder, "PRUNE", np.inf)
    found = decoded(any_note(seed))
    path = found.path()
    wanted = plain(seed)
    costs = found._best[:, 1 : found.n + 1].min(axis=0)
    reached = np.array([wanted.cost(k) for k in range(1, found.n + 1)])
    known = reached < decoder._FAR
    assert known[decoder.STAND_BINS :].all()
    assert costs[known] == pytest.approx(reached[known], abs=1e-3)
    assert brief(path) == [s[:3] for s in wanted.path()]
    for segment, (kind, _, end, _, arrived) in zip(path, wanted.path(), strict=True):
        if kind == "glide":
            assert segment.to_cents == pytest.approx(arrived, abs=0.01)
        elif kind == "stand":  # a segment names its last bin, the programme the next
            slope = (segment.to_cents - segment.from_cents) / max(1, end - 1 - segment.begin)
            assert segment.to_cents + slope == pytest.approx(arrived, abs=0.01)


@pytest.mark.parametrize("seed", SEEDS)
def test_pruning_changes_no_segment(seed, monkeypatch) -> None:
    monkeypatch.setattr(Decoder, "_goes_on", lambda *_: False)
    assert brief(decoded(any_note(seed)).path()) == [s[:3] for s in plain(seed).path()]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_short_cut_for_calm_moves_no_stand(seed) -> None:
    """It counts a stand on by the line it had, so a boundary may move by some bins; what stood for 43 ms stands."""
    path = decoded(any_note(seed)).path()
    for kind, begin, end, left, arrived in plain(seed).path():
        if kind == "stand" and begin > 0 and end - begin >= 8:
            (found,) = [s for s in path if s.begin <= (begin + end) // 2 < s.end]
            assert found.kind == "stand"
            assert found.mean_cents == pytest.approx(0.5 * (left + arrived), abs=1.0)


def in_batches_of(size: int, bins, monkeypatch) -> Decoder:
    monkeypatch.setattr(decoder, "BATCH", size)
    return decoded(bins)


@pytest.mark.parametrize("seed", some_of(range(40, 52)))
def test_batches_change_nothing(seed, monkeypatch) -> None:
    monkeypatch.setattr(Decoder, "_goes_on", lambda *_: False)
    monkeypatch.setattr(decoder, "PRUNE", np.inf)
    bins = any_note(seed)
    four, one = in_batches_of(4, bins, monkeypatch), in_batches_of(1, bins, monkeypatch)
    assert brief(four.path()) == brief(one.path())
    assert [s.to_cents for s in four.path()] == pytest.approx([s.to_cents for s in one.path()], abs=1e-6)
    assert four._best[:, 1 : four.n + 1] == pytest.approx(one._best[:, 1 : one.n + 1], abs=1e-6)


@pytest.mark.parametrize("seed", some_of(range(60, 72)))
def test_bins_that_come_one_by_one_or_in_bursts_tell_the_same(seed, monkeypatch) -> None:
    monkeypatch.setattr(Decoder, "_goes_on", lambda *_: False)
    monkeypatch.setattr(decoder, "PRUNE", np.inf)
    bins, rng, asked = any_note(seed), np.random.default_rng(seed), Decoder()
    for cents, weight in bins:
        asked.push(cents, weight)
        if rng.random() < 0.3:
            asked.path()  # works out what waits, and must not change what comes
    whole = decoded(bins)
    assert brief(asked.path()) == brief(whole.path())
    assert [s.to_cents for s in asked.path()] == pytest.approx([s.to_cents for s in whole.path()], abs=1e-6)


def test_bins_without_weight_for_long_raise_nothing() -> None:
    """A cymbal's few readings in doubt: the tracker's pitch comes and goes."""
    for heard in (4, 8, 12, 40):
        bins = bins_of(legs((heard, 0))) + [(0.0, 0.0)] * 60 + bins_of(legs((30, 5)))
        assert decoded(bins).path()
        assert decoded([(0.0, 0.0)] * 60 + bins).path()
    assert decoded([(0.0, 0.0)] * 60).path()


CALM = {
    "a long rest": legs((300, 0)),
    "a rest, then a curl of 35": legs((120, 0), (20, 35), (60, 35)),
    "a rest, then a slow curl of 20": legs((120, 0), (80, 20), (60, 20)),
    "a rest, then a jump": legs((120, 0), (0, 200), (120, 200)),
    "a drifting stand": legs((300, 0)) + 0.03 * np.arange(300),
    "bend, hold and release": legs((90, 0), (30, 200), (160, 200), (30, 0), (90, 0)),
    "vibrato after a long stand": legs((150, 0), *[(18, h) for h in (25, -25) * 5], (60, 0)),
}


@pytest.mark.parametrize(("name", "phase"), grid([*CALM], range(4), each=2))
def test_a_calm_stand_is_the_same_stand(name, phase, monkeypatch) -> None:
    bins = bins_of(CALM[name][phase:], seed=phase)
    quick = decoded(bins).path()
    monkeypatch.setattr(Decoder, "_goes_on", lambda *_: False)
    monkeypatch.setattr(decoder, "PRUNE", np.inf)
    exact = decoded(bins).path()
    assert [s.kind for s in quick] == [s.kind for s in exact]
    for number, (a, b) in enumerate(zip(quick, exact, strict=True)):
        # Where in a jump the step lies is told by the stands beside it. A glide may begin 16 ms off.
        beside = "jump" in (a.kind, exact[number - 1].kind)
        assert abs(a.begin - b.begin) <= (decoder.JUMP_BINS if beside else 3)
        if a.kind == "stand":
            assert (a.from_cents, a.to_cents) == pytest.approx((b.from_cents, b.to_cents), abs=0.5)


def test_a_calm_stand_is_hardly_worked_on(monkeypatch) -> None:
    """Else the short cut could be lost and nobody would notice."""
    calls = []
    real = Decoder._glide
    monkeypatch.setattr(Decoder, "_glide", lambda self, *ends: calls.append(1) or real(self, *ends))
    decoded(bins_of(legs((800, 0)), noise=0.4))
    assert len(calls) < 60  # of 200 batches


def test_a_path_of_part_of_the_note_is_that_of_the_part() -> None:
    bins = bins_of(legs((60, 0), (30, 200), (60, 200)))
    whole = decoded(bins)
    whole.flush()
    for end in (40, 88, 120):
        part = decoded(bins[:end])
        assert brief(whole.path(end)) == brief(part.path())


def test_a_note_longer_than_its_first_room_goes_on() -> None:
    bins = bins_of(legs((500, 0), (30, 200), (700, 200), (30, 0), (500, 0)))
    path = decoded(bins).path()
    assert [s.kind for s in path] == ["stand", "glide", "stand", "glide", "stand"]
    assert [s.end for s in path if s.kind == "stand"] == pytest.approx([500, 1230, 1760], abs=4)


def test_shifting_every_height_shifts_the_path_and_turning_it_round_turns_it() -> None:
    bins = bins_of(legs((60, 0), (30, 200), (40, 200), (0, 100), (60, 100)))
    path = decoded(bins).path()
    higher = decoded([(c + 1234.5, w) for c, w in bins]).path()
    below = decoded([(-c, w) for c, w in bins]).path()
    assert brief(higher) == brief(path) == brief(below)
    assert [s.to_cents - 1234.5 for s in higher] == pytest.approx([s.to_cents for s in path], abs=1e-4)
    assert [-s.to_cents for s in below] == pytest.approx([s.to_cents for s in path], abs=1e-4)


def settling(amount: float, tau_s: float, seconds: float = 1.0) -> list[tuple[float, float]]:
    """Bins of a pluck that settles, weighed as `Bins` weighs a clean one."""
    t = np.arange(round(seconds / BIN_S)) * BIN_S
    y = amount * np.exp(-t / tau_s) + 0.2 * np.random.default_rng(3).normal(size=len(t))
    w = 1 / (1.5 + (16 * np.exp(-t / 0.01)) ** 2 + (3 * np.exp(-t / 0.06)) ** 2)
    return list(zip(y.tolist(), w.tolist(), strict=True))


@pytest.mark.parametrize("tau_s", [0.03, 0.05, 0.12, 0.25])
@pytest.mark.parametrize("amount", [5.0, 20.0, 40.0, 55.0])
def test_a_pluck_that_settles_is_one_stand(amount, tau_s) -> None:
    (stand,) = decoded(settling(amount, tau_s)).path()
    assert stand.kind == "stand"
    assert stand.to_cents == pytest.approx(0, abs=0.6)


RECORDED = (0, 18, 38, 58, 78, 98, 118, 138), (21.0, 19.0, 14.0, 10.0, 8.0, 5.0, 3.0, 1.0)
"""Milliseconds, and cents by Praat above the fret, of a recorded guitar's C3 that is bent after 140 ms."""


def test_how_far_a_brief_rest_would_settle_yet_is_a_guess_and_says_so() -> None:
    """It was told as 14 cents below the fret, which was never heard, and as known within a cent."""
    t = np.arange(26) * BIN_S
    y = np.interp(1000 * t, *RECORDED)
    w = 1 / (1.0 + (16 * np.exp(-t / 0.01)) ** 2 + (3 * np.exp(-t / 0.06)) ** 2)
    rise = [(1.0 + 200 * u * u * (3 - 2 * u), 0.8) for u in np.linspace(0, 1, 26)]
    first = decoded(list(zip(y.tolist(), w.tolist(), strict=True)) + rise + [(201.0, 0.8)] * 60).path()[0]
    assert first.kind == "stand"
    assert abs(first.to_cents) < 2 * first.sigma_cents
    assert first.sigma_cents > 4.0


def test_what_is_known_of_a_stand_grows_with_its_weight() -> None:
    (short,) = decoded(bins_of(legs((20, 0)), weight=0.5)).path()
    (long,) = decoded(bins_of(legs((80, 0)), weight=0.5)).path()
    assert short.sigma_cents == pytest.approx(2 * long.sigma_cents, rel=1e-6)
    assert short.sigma_cents == pytest.approx((2 * decoder.CORRELATED * 20 * 0.5) ** -0.5, rel=1e-6)


def test_bins_in_which_nothing_was_heard_carry_nothing() -> None:
    bins = bins_of(legs((60, 0), (30, 200), (60, 200)))
    holes = [(900.0, 0.0) if i % 7 == 3 else b for i, b in enumerate(bins)]
    assert [s.kind for s in decoded(holes).path()] == ["stand", "glide", "stand"]
    assert decoded(holes).path()[-1].mean_cents == pytest.approx(200, abs=0.5)
