"""Answers against the truth of a take, in the units that a player feels.

gross, octave   share of voiced readings inside a note that are more than 50 cents off, and that are an octave off
VR, VFA, RPA    mir_eval.melody on a grid of 5 ms, at the readings' own time stamps (RPA within 10 cents)
still, moving   |cents| of readings that are not gross, where nothing moves, and at more than 50 cents/s
felt            what the meter shows at a time against the truth at that very time, where the pitch moves
live            share of the note in which what is shown lies within 25 cents of the truth right then
right, close    time from the pluck until what is shown is, and for 50 ms stays, within 50 (10, then 25) cents
Edges of 30 ms are left to `live`, `right` and `close`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from mir_eval import melody
from numpy.typing import NDArray

from bench.peers import Answers
from bench.takes import Take

GRID_S, EDGE_S, TAIL_S, SETTLED_S, NEAR_S = 0.005, 0.03, 0.06, 0.06, 0.025
HELD_S = 0.06
"""So long does a reading stand on the meter."""
NEVER_S = 0.25
MOVING_CENTS_S = 50.0
SLIP_CENTS = 300.0
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Judged:
    """One peer on one take: arrays of cents, of yes and no, and rows of (true, heard) cents for mir_eval."""

    said: int
    gross: int
    octave: int
    still: Array
    moving: Array
    felt: Array
    live: NDArray[np.bool_]
    right_s: float
    close_s: float
    grid: Array


def judge(take: Take, answers: Answers) -> Judged:
    """Everything the tables need."""
    order = np.argsort(answers.readings[:, 0], kind="stable")
    stamps, hz = answers.readings[order].T
    said = (hz > 0) & _inside(take, stamps)
    at, off = stamps[said], _cents(hz[said]) - _truth(take, stamps[said])
    fine = np.abs(off) <= 50
    grid = np.arange(GRID_S, len(take.samples) / 48_000, GRID_S)
    felt, live, right, close = np.zeros(0), np.zeros(0, bool), np.inf, np.inf
    if len(answers.shown):
        moving = grid[_moving(take, grid)]
        now = _shown(answers.shown, moving)
        wrong = np.abs(_cents(now) - _truth(take, moving))[now > 0]
        felt = wrong[wrong < SLIP_CENTS]
        note = grid[(grid > take.onset_s) & (grid < take.end_s)]
        now = _shown(answers.shown, note)
        live = (now > 0) & (np.abs(_cents(now) - _truth(take, note)) <= 25)
        right, close = _first(take, answers.shown, 50, 50), _first(take, answers.shown, 10, 25)
    return Judged(
        said=len(off),
        gross=int((~fine).sum()),
        octave=int((np.abs(np.abs(off) - 1200) < 50).sum()),
        still=np.abs(off[fine & _still(take, at)]),
        moving=np.abs(off[fine & _moving(take, at)]),
        felt=felt,
        live=live,
        right_s=right,
        close_s=close,
        grid=_on_grid(take, grid, stamps, hz),
    )


def summary(judged: list[Judged], *, streaming: bool) -> dict[str, float | None]:
    """The figures of one peer over some takes; milliseconds, cents, per cent."""
    true, heard = np.concatenate([j.grid for j in judged], axis=1)
    recall, false_alarm = melody.voicing_measures(true > 0, heard > 0)
    said = max(1, sum(j.said for j in judged))
    figures: dict[str, float | None] = {
        "gross": 100 * sum(j.gross for j in judged) / said,
        "octave": 100 * sum(j.octave for j in judged) / said,
        "vr": 100 * float(recall),
        "vfa": 100 * float(false_alarm),
        "rpa10": 100 * float(melody.raw_pitch_accuracy(true > 0, true, heard > 0, heard, cent_tolerance=10)),
    }
    for part in ("still", "moving", "felt"):
        values = np.concatenate([getattr(j, part) for j in judged])
        figures[part] = float(np.median(values)) if len(values) else None
        figures[part + "_p95"] = float(np.percentile(values, 95)) if len(values) else None
    if streaming:
        figures["live"] = 100 * float(np.mean(np.concatenate([j.live for j in judged])))
        for part in ("right", "close"):
            waits = np.minimum([getattr(j, part + "_s") for j in judged], NEVER_S)
            figures[part + "_ms"] = 1000 * float(np.median(waits))
            figures[part + "_never"] = 100 * float(np.mean(waits >= NEVER_S))
    return figures


def _cents(hz: Array) -> Array:
    return 1200 * np.log2(np.maximum(hz, 1e-9) / 10)


def _truth(take: Take, times: Array) -> Array:
    return np.interp(times, take.times_s, take.cents)


def _inside(take: Take, times: Array) -> NDArray[np.bool_]:
    return (times > take.onset_s + EDGE_S) & (times < take.end_s - EDGE_S)


def _moving(take: Take, times: Array) -> NDArray[np.bool_]:
    return _inside(take, times) & (np.abs(np.interp(times, take.times_s, take.speed)) > MOVING_CENTS_S)


def _still(take: Take, times: Array) -> NDArray[np.bool_]:
    fast = np.abs(take.speed) > MOVING_CENTS_S
    reach = round(NEAR_S / (take.times_s[1] - take.times_s[0]))
    near = np.convolve(fast, np.ones(2 * reach + 1), "same") > 0
    return _inside(take, times) & (np.interp(times, take.times_s, near) == 0) & (times > take.onset_s + SETTLED_S)


def _shown(shown: Array, times: Array) -> Array:
    at = np.searchsorted(shown[:, 0], times, side="right") - 1
    last = shown[np.maximum(at, 0)]
    return np.where((at >= 0) & (times - last[:, 0] <= HELD_S), last[:, 1], 0.0)


def _first(take: Take, shown: Array, within: float, staying: float) -> float:
    times, hz = shown.T
    off = np.where(hz > 0, np.abs(_cents(hz) - _truth(take, times)), np.inf)
    for i in np.flatnonzero((times >= take.onset_s) & (times < take.onset_s + NEVER_S) & (off <= within)):
        if (off[(times >= times[i]) & (times <= times[i] + 0.05)] <= staying).all():
            return float(times[i] - take.onset_s)
    return float("inf")


def _on_grid(take: Take, grid: Array, stamps: Array, hz: Array) -> Array:
    """(true cents or 0, heard cents or 0) at grid times that are surely inside the note or surely outside."""
    gap = max(0.012, 1.5 * float(np.median(np.diff(stamps))))
    right = np.clip(np.searchsorted(stamps, grid), 1, len(stamps) - 1)
    left = right - 1
    near = np.where(grid - stamps[left] < stamps[right] - grid, left, right)
    heard = np.where(np.abs(stamps[near] - grid) <= gap, hz[near], 0.0)
    both = (hz[left] > 0) & (hz[right] > 0) & (stamps[right] - stamps[left] < 2 * gap) & (heard > 0)
    low, high = _cents(hz[left]), _cents(hz[right])
    share = np.clip((grid - stamps[left]) / np.maximum(stamps[right] - stamps[left], 1e-9), 0, 1)
    between = np.where(both & (np.abs(low - high) < 100), low + share * (high - low), _cents(heard))
    inside = _inside(take, grid)
    sure = inside | (grid < take.onset_s - EDGE_S) | (grid > take.end_s + TAIL_S)
    return np.array([np.where(inside, _truth(take, grid), 0.0), np.where(heard > 0, between, 0.0)])[:, sure]
