"""Contour -> its vibrato (rate, width) and the same contour with every cycle replaced by its mean."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pedal.notes.contour import Contour, Floats
from pedal.notes.note import Vibrato

LEAST_SWING_CENTS = 6.0
"""Peak to peak; a smaller wobble is the tracker's or the string's own."""
SWING_SIZES_CENTS = (6.0, 10.0, 16.0, 26.0, 42.0, 68.0)
LEAST_SWINGS = 4
"""Two whole cycles: less may be a bend and its release."""
HALF_CYCLE_S = (0.045, 0.28)
"""Half a cycle at 11 and at 1.8 Hz."""
EACH = 3
"""Turns are looked for on every third reading: half a cycle has five of them at the least."""
FITTED_READINGS = 1500
"""Four seconds: enough for any rate, and a hand does not keep one for longer."""
EDGE_REACH = 1.3
LIKENESS = 2.2
"""Neighbouring swings of one vibrato differ by less than this factor, in time and in size."""


@dataclass(frozen=True, slots=True)
class Cycles:
    """A run of vibrato between the readings `begin` and `end` (open) of a contour."""

    begin: int
    end: int
    vibrato: Vibrato


@dataclass(frozen=True, slots=True)
class _Run:
    """Alternating, like swings between two readings (`end` open), `half_s` long in the middle."""

    begin: int
    end: int
    half_s: float


def turning_points(cents: Floats, least: float) -> list[int]:
    """Indices where the contour turns by at least `least` cents, with its first and last reading."""
    points, turn, direction = [0], 0, 0
    for i, height in enumerate(cents.tolist()):
        gain = height - cents[turn]
        if direction * gain > 0.0 or (direction == 0 and abs(gain) >= least):
            direction = 1 if gain > 0 else -1
            turn = i
        elif direction and -direction * gain >= least:
            points.append(turn)
            direction, turn = -direction, i
    if turn != points[-1]:
        points.append(turn)
    if points[-1] != len(cents) - 1:
        points.append(len(cents) - 1)
    return points


def find_cycles(contour: Contour) -> Cycles | None:
    """The longest run of alternating, like swings, or None.

    Looked for at several sizes: at the right one the tracker's kinks are too small to count as turns.
    """
    runs = [run for least in SWING_SIZES_CENTS if (run := _longest_run(contour, least)) is not None]
    best = max(runs, key=lambda run: run.end - run.begin, default=None)
    if best is None:
        return None
    fitted = slice(best.begin, min(best.end, best.begin + FITTED_READINGS))
    return Cycles(best.begin, best.end, _fit(contour.time_s[fitted], contour.cents[fitted], 0.5 / best.half_s))


def _longest_run(contour: Contour, least: float) -> _Run | None:
    points = [EACH * p for p in turning_points(contour.cents[::EACH], least)]
    swings = [
        (float(contour.time_s[b] - contour.time_s[a]), float(abs(contour.cents[b] - contour.cents[a])))
        for a, b in pairwise(points)
    ]
    best, begin = (0, 0), 0
    for k in range(len(swings) + 1):
        goes_on = k < len(swings) and _is_swing(swings[k]) and (k == begin or _alike(swings[k - 1], swings[k]))
        if not goes_on:
            if k - begin > best[1] - best[0]:
                best = (begin, k)
            begin = k if k < len(swings) and _is_swing(swings[k]) else k + 1
    first, last = best
    if last - first < LEAST_SWINGS:
        return None
    return _Run(points[first], points[last] + 1, float(np.median([s for s, _ in swings[first:last]])))


def _is_swing(swing: tuple[float, float]) -> bool:
    return HALF_CYCLE_S[0] <= swing[0] <= HALF_CYCLE_S[1] and swing[1] >= LEAST_SWING_CENTS


def _alike(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return all(1 / LIKENESS < y / x < LIKENESS for x, y in zip(a, b, strict=True))


def _fit(time_s: Floats, cents: Floats, rough_hz: float) -> Vibrato:
    """Least-squares sine on a sloping line, its rate searched near a rough one, first coarsely and then finely."""
    t = time_s - time_s.mean()
    rates = np.linspace(0.8 * rough_hz, 1.25 * rough_hz, 19)
    best, vibrato = np.inf, Vibrato(rough_hz, 0.0)
    for _ in range(2):
        for rate in rates.tolist():
            angle = 2 * np.pi * rate * t
            model = np.stack([np.ones_like(t), t, np.sin(angle), np.cos(angle)])
            weights = np.linalg.solve(model @ model.T, model @ cents)
            left = float(np.sum((weights @ model - cents) ** 2))
            if left < best:
                best, vibrato = left, Vibrato(rate, float(np.hypot(weights[2], weights[3])))
        step = float(rates[1] - rates[0])
        rates = np.linspace(vibrato.rate_hz - step, vibrato.rate_hz + step, 11)
    return vibrato


def flatten(contour: Contour, cycles: Cycles) -> Contour:
    """The contour with its vibrato replaced by the mean of the whole cycle around each moment.

    The half swings before the first and after the last turn, which belong to no whole cycle, get the mean beside them.
    """
    period = 1.0 / cycles.vibrato.rate_hz
    time_s, cents = contour.time_s[cycles.begin : cycles.end], contour.cents[cycles.begin : cycles.end]
    begin = np.clip(time_s - period / 2, time_s[0], max(time_s[0], time_s[-1] - period))
    area = np.concatenate([[0.0], np.cumsum(np.diff(time_s) * (cents[1:] + cents[:-1]) / 2)])
    mean = (np.interp(begin + period, time_s, area) - np.interp(begin, time_s, area)) / period
    flat = contour.cents.copy()
    flat[cycles.begin : cycles.end] = mean
    reach = EDGE_REACH * cycles.vibrato.width_cents
    for edge, level in ((contour.time_s < time_s[0], mean[0]), (contour.time_s > time_s[-1], mean[-1])):
        beside = np.minimum(np.abs(contour.time_s - time_s[0]), np.abs(contour.time_s - time_s[-1])) <= period / 2
        flat[edge & beside & (np.abs(contour.cents - level) <= reach)] = level
    return contour.with_cents(flat)
