"""The readings of a swing -> its vibrato: rate, width, side and evenness."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pedal.notes.note import Side, Vibrato
from pedal.notes.runs import HALF_CYCLE_S, Swing

Floats = NDArray[np.float64]

FITTED_S = 4.0
"""Enough for any rate, and a hand does not keep one for longer."""
ONE_SIDED = 0.25
"""Of the whole excursion: a note that stood so near one end swings to the other side only."""
RATES = (0.5 / HALF_CYCLE_S[1], 0.5 / HALF_CYCLE_S[0])
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
    rate, width = _fit(t, c, min(RATES[1], max(RATES[0], rough)))
    whole = max(1e-6, swing.high - swing.low)
    side: Side = "both"
    if stood - swing.low < ONE_SIDED * whole:
        side = "above"
    elif swing.high - stood < ONE_SIDED * whole:
        side = "below"
    return Vibrato(rate, width, side, _evenness(t, c, crossings))


def _crossings(t: Floats, c: Floats) -> Floats:
    """Times at which the pitch passes its own slow middle."""
    slope, middle = np.polyfit(t, c, 1)
    off = c - slope * t - middle
    # Hysteresis of a quarter of the usual deviation: the tracker's kinks are no crossings.
    sure = np.abs(off) > 0.25 * float(np.std(off))
    at, sign = t[sure], np.sign(off[sure])
    turn = np.flatnonzero(sign[1:] != sign[:-1])
    return np.asarray(0.5 * (at[turn] + at[turn + 1]))


def _evenness(t: Floats, c: Floats, crossings: Floats) -> float:
    if len(crossings) < 4:
        return 1.0
    lengths = np.diff(crossings)
    sizes = np.array([np.ptp(c[(t >= a) & (t <= b)]) for a, b in pairwise(crossings.tolist())])
    uneven = 0.5 * (np.std(lengths) / np.mean(lengths) + np.std(sizes) / max(1e-6, np.mean(sizes)))
    return float(np.clip(1.0 - uneven, 0.0, 1.0))


def _fit(t: Floats, c: Floats, rough_hz: float) -> tuple[float, float]:
    """Least-squares sine on a sloping line: its rate by a parabola through what rates near a rough one leave."""
    line = np.stack([np.ones_like(t), t])

    def left(hz: float) -> tuple[float, float]:
        angle = 2 * np.pi * hz * t
        model = np.concatenate([line, [np.sin(angle), np.cos(angle)]])
        weights = np.linalg.solve(model @ model.T, model @ c)
        return float(c @ c - weights @ (model @ c)), float(np.hypot(weights[2], weights[3]))

    rates = rough_hz * np.linspace(0.8, 1.2, RATES_TRIED)
    for _ in range(2):  # coarse, then fine
        found = [left(hz)[0] for hz in rates.tolist()]
        at = min(max(int(np.argmin(found)), 1), len(rates) - 2)
        a, b, c_ = found[at - 1 : at + 2]
        bend = a - 2 * b + c_
        step = float(rates[1] - rates[0])
        best = float(rates[at]) + (0.5 * step * (a - c_) / bend if bend > 0 else 0.0)
        rates = best + np.array([-0.25, 0.0, 0.25]) * step
    return best, left(best)[1]
