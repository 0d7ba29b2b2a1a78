"""Readings of one note -> its contour: cents over time, without what the tracker got wrong at the edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.pitch.reading import Reading

Floats = NDArray[np.float64]

MULTIPLES_CENTS = 1200.0 * np.log2(np.array([1 / 4, 1 / 3, 1 / 2, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 9.0]))
"""A tracker rarely hears too high by more than 4; other strings that ring along share deep fractions of a pitch."""
SLIP_CENTS = 600.0
BESIDE_CENTS = 90.0
OUTLIER_CENTS = 350.0
FAINT_DB = 18.0
FURTHEST_CENTS = 650.0
"""No finger bends, hammers on or slides further without a pluck."""
SLIP_READINGS = 24
"""Further off than OUTLIER_CENTS for no longer than 64 ms is a slip of the tracker; what stays away longer was
played, unless it lies off further than a finger gets."""
ROOT_CENTS, ROOT_WITHIN_S = 90.0, 0.5
"""The octave that the spectrum gave a note at its start stands where the tracker heard it within this time."""


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


def draw_contour(readings: list[Reading], root_hz: float = 0.0) -> Contour | None:
    """The contour of the pitched readings, slips removed; None if there are none.

    `root_hz`: what the note's octave at its start is known to be, 0.0 if it is not.
    """
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
    mended, kept = mend_slips(whole.cents, _start(whole, root_hz))
    mended_whole = whole.with_cents(mended).part(kept)
    return mended_whole.part(np.arange(len(mended_whole)) < _faded(mended_whole))


def _start(contour: Contour, root_hz: float) -> int:
    """A reading that is right: near the root early in the note, or else the most usual pitch."""
    if root_hz > 0.0:
        early = contour.cents[: int(np.searchsorted(contour.time_s, contour.time_s[0] + ROOT_WITHIN_S))]
        away = np.abs(early - 1200.0 * np.log2(root_hz / contour.base_hz))
        if away.min() <= ROOT_CENTS:
            return int(np.argmin(away))
    return int(np.argmin(np.abs(contour.cents - np.median(contour.cents))))


def _faded(contour: Contour) -> int:
    """The reading from which on something else is heard than the string, which has faded beneath it."""
    faint = contour.level_db[1:] < contour.level_db.max() - FAINT_DB
    jumps = np.flatnonzero((np.abs(np.diff(contour.cents)) > OUTLIER_CENTS) & faint)
    return int(jumps[0]) + 1 if len(jumps) else len(contour)


def mend_slips(cents: Floats, start: int) -> tuple[Floats, NDArray[np.bool_]]:
    """The heights with the tracker's slips taken back, and which of them to keep.

    `start` is a reading that is right. A reading far from its neighbour but right beside it when times or by a small
    whole number is the same string at a wrong multiple of the period: no hand jumps just there and goes on smoothly.
    What lies off further than a finger gets, or comes back within SLIP_READINGS, is no pitch of the string either.
    """
    kept = np.ones(len(cents), bool)
    if not np.any(np.abs(np.diff(cents)) > OUTLIER_CENTS):
        return cents.copy(), kept
    mended = cents.tolist()  # ten thousands in a long note: plain numbers are five times as quick
    for walk in (range(start + 1, len(cents)), range(start - 1, -1, -1)):
        beside, astray = mended[start], 0
        for i in walk:
            if abs(mended[i] - beside) > SLIP_CENTS:
                shifted = mended[i] + MULTIPLES_CENTS
                nearest = float(shifted[np.argmin(np.abs(shifted - beside))])
                if abs(nearest - beside) < BESIDE_CENTS:
                    mended[i] = nearest
            away = abs(mended[i] - beside)
            if away > OUTLIER_CENTS and (astray < SLIP_READINGS or away > FURTHEST_CENTS):
                kept[i] = False
                astray += 1
                continue
            beside, astray = mended[i], 0
    return np.array(mended), kept


def running_median(values: Floats, width: int) -> Floats:
    """Median of `width` (odd) neighbours, the ends repeated; same length."""
    half = width // 2
    padded = np.concatenate([np.full(half, values[0]), values, np.full(half, values[-1])])
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))
