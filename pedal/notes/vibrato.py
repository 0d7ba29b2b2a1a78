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
EDGE_REACH = 1.3
LIKENESS = 2.2
"""Neighbouring swings of one vibrato differ by less than this factor, in time and in size."""


@dataclass(frozen=True, slots=True)
class Cycles:
    """A run of vibrato between the readings `begin` and `end` (open) of a contour."""

    begin: int
    end: int
    vibrato: Vibrato


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
    return max(runs, key=lambda run: contour.time_s[run.end - 1] - contour.time_s[run.begin], default=None)


def _longest_run(contour: Contour, least: float) -> Cycles | None:
    points = turning_points(contour.cents, least)
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
    a, b = points[first], points[last] + 1
    return Cycles(a, b, _fit(contour.time_s[a:b], contour.cents[a:b], swings[first:last]))


def _is_swing(swing: tuple[float, float]) -> bool:
    return HALF_CYCLE_S[0] <= swing[0] <= HALF_CYCLE_S[1] and swing[1] >= LEAST_SWING_CENTS


def _alike(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return all(1 / LIKENESS < y / x < LIKENESS for x, y in zip(a, b, strict=True))


def _fit(time_s: Floats, cents: Floats, swings: list[tuple[float, float]]) -> Vibrato:
    """Least-squares sine on a sloping line, its rate searched around the one that the turning points give."""
    rough = 0.5 / float(np.median([s for s, _ in swings]))
    best_error, best = np.inf, Vibrato(rough, 0.0)
    t = time_s - time_s[0]
    for rate in np.linspace(0.75 * rough, 1.3 * rough, 111).tolist():
        angle = 2 * np.pi * rate * t
        model = np.stack([np.ones_like(t), t, np.sin(angle), np.cos(angle)], axis=1)
        weights, *_ = np.linalg.lstsq(model, cents, rcond=None)
        error = float(np.sum((model @ weights - cents) ** 2))
        if error < best_error:
            best_error, best = error, Vibrato(rate, float(np.hypot(weights[2], weights[3])))
    return best


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
