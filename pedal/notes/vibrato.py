"""The readings of a swing -> its vibrato: rate, width, side and evenness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.notes.note import Side, Vibrato
from pedal.notes.runs import LONG_S, SHORTEST_S, Swing

Floats = NDArray[np.float64]

FITTED_S = 4.0
"""Enough for any rate, and a hand does not keep one for longer."""
ONE_SIDED = 0.25
"""Of the whole excursion: a note that stood so near one end swings to the other side only."""
RATES_TRIED = 7


def measure_vibrato(time_s: Floats, cents: Floats, swing: Swing, *, stood: float) -> Vibrato | None:
    """Vibrato of these readings (equal lengths); `stood`: the height of the note that it belongs to."""
    if len(cents) < 16:
        return None
    keep = time_s <= time_s[0] + FITTED_S
    t, c = time_s[keep], cents[keep]
    t, c = t - t.mean(), c - c.mean()
    duration = float(t[-1] - t[0])
    crossings = _crossings(t, c)
    rough = 0.5 * (len(crossings) - 1) / (crossings[-1] - crossings[0]) if len(crossings) > 2 else 2.0 / duration
    rate, width = _fit(t, c, min(0.5 / SHORTEST_S, max(0.5 / LONG_S, rough)))
    whole = max(1e-6, swing.high - swing.low)
    side: Side = "both"
    if stood - swing.low < ONE_SIDED * whole:
        side = "above"
    elif swing.high - stood < ONE_SIDED * whole:
        side = "below"
    return Vibrato(rate, width, side, _evenness(t, c, crossings))


def _crossings(t: Floats, c: Floats) -> Floats:
    """Times at which the pitch passes its own slow middle."""
    off = c - t * (t @ c) / (t @ t)  # less the straight line that fits best: the mean of both is 0
    # Hysteresis of a quarter of the usual deviation: the tracker's kinks are no crossings.
    sure = np.abs(off) > 0.25 * float(np.std(off))
    at, sign = t[sure], np.sign(off[sure])
    turn = np.flatnonzero(sign[1:] != sign[:-1])
    return np.asarray(0.5 * (at[turn] + at[turn + 1]))


def _evenness(t: Floats, c: Floats, crossings: Floats) -> float:
    if len(crossings) < 4:
        return 1.0
    lengths = np.diff(crossings)
    order = t.argsort(kind="stable")  # an ear that went down an octave tells times that run backwards for a moment
    t, c = t[order], c[order]
    swings = np.empty(2 * len(lengths), np.intp)  # where each begins and ends; every second piece lies between two
    swings[::2], swings[1::2] = t.searchsorted(crossings[:-1], "left"), t.searchsorted(crossings[1:], "right")
    c = np.concatenate([c, c[-1:]])  # a piece may end with the last reading
    sizes = np.maximum.reduceat(c, swings)[::2] - np.minimum.reduceat(c, swings)[::2]
    uneven = 0.5 * (np.std(lengths) / np.mean(lengths) + np.std(sizes) / max(1e-6, np.mean(sizes)))
    return float(np.clip(1.0 - uneven, 0.0, 1.0))


def _fit(t: Floats, c: Floats, rough_hz: float) -> tuple[float, float]:
    """Least-squares sine on a sloping line: its rate by a parabola through what rates near a rough one leave."""

    def fits(first_hz: float, step_hz: float, count: int) -> tuple[list[float], Floats]:
        """What each of `count` rates a step apart leaves, and the weights of line, sine and cosine at the first."""
        model = np.empty((count, 4, len(t)))
        model[:, 0], model[:, 1] = 1.0, t
        # A step more turns each reading by the same angle again: a product is a tenth of a sine.
        turned, step = np.exp(2j * np.pi * first_hz * t), np.exp(2j * np.pi * step_hz * t) if count > 1 else 1.0
        for rows in model:
            rows[2], rows[3] = turned.imag, turned.real
            turned = turned * step
        known = model @ c
        weights = np.linalg.solve(model @ model.transpose(0, 2, 1), known[..., np.newaxis])[..., 0]
        return (c @ c - (weights * known).sum(axis=1)).tolist(), weights[0]

    step = 0.4 * rough_hz / (RATES_TRIED - 1)
    first, count = 0.8 * rough_hz, RATES_TRIED
    for _ in range(2):  # coarse, then fine
        found, _ = fits(first, step, count)
        at = min(max(found.index(min(found)), 1), count - 2)
        a, b, c_ = found[at - 1 : at + 2]
        bend = a - 2 * b + c_
        best = first + at * step + (0.5 * step * (a - c_) / bend if bend > 0 else 0.0)
        step *= 0.25
        first, count = best - step, 3
    _, weights = fits(best, 0.0, 1)
    return best, float(np.hypot(weights[2], weights[3]))
