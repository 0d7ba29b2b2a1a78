"""Readings of one note -> its contour: cents over time, without what the tracker got wrong at the edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.reading import Reading

Floats = NDArray[np.float64]

OUTLIER_CENTS = 350.0
"""Further than this from the readings around it is a tracker's slip: no hand moves a string there and back in 30 ms."""


@dataclass(frozen=True, slots=True)
class Contour:
    """Pitched readings of a note. `time_s` centres, `cents` above `base_hz`, `heard_s`, `level_db`; equal lengths."""

    base_hz: float
    time_s: Floats
    cents: Floats
    heard_s: Floats
    level_db: Floats

    def __len__(self) -> int:
        return len(self.time_s)

    @property
    def step_s(self) -> float:
        """Usual distance of two readings."""
        return float(np.median(np.diff(self.time_s))) if len(self) > 1 else 0.0

    def hz(self, cents: float) -> float:
        """Hertz of a height on this contour."""
        return float(self.base_hz * 2.0 ** (cents / 1200.0))

    def part(self, keep: NDArray[np.bool_]) -> Contour:
        """The readings that `keep` marks."""
        return Contour(self.base_hz, self.time_s[keep], self.cents[keep], self.heard_s[keep], self.level_db[keep])

    def with_cents(self, cents: Floats) -> Contour:
        """The same readings at other heights."""
        return Contour(self.base_hz, self.time_s, cents, self.heard_s, self.level_db)


def draw_contour(readings: list[Reading]) -> Contour | None:
    """The contour of the pitched readings, slips removed; None if there are none."""
    pitched = [r for r in readings if r.hz > 0.0]
    if not pitched:
        return None
    hz = np.array([r.hz for r in pitched])
    base = float(np.median(hz))
    whole = Contour(
        base,
        np.array([r.time_s for r in pitched]),
        1200.0 * np.log2(hz / base),
        np.array([r.heard_s for r in pitched]),
        np.array([r.level_db for r in pitched]),
    )
    order = np.argsort(whole.time_s, kind="stable")
    whole = Contour(base, *(a[order] for a in (whole.time_s, whole.cents, whole.heard_s, whole.level_db)))
    kept = whole.part(np.abs(whole.cents - running_median(whole.cents, 13)) < OUTLIER_CENTS)
    return kept if len(kept) else None


def running_median(values: Floats, width: int) -> Floats:
    """Median of `width` (odd) neighbours, the ends repeated; same length."""
    half = width // 2
    padded = np.concatenate([np.full(half, values[0]), values, np.full(half, values[-1])])
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))
