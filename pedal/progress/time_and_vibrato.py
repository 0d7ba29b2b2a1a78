"""Judged notes -> how they lay beside the beat, how even the rises were, and what their vibrato was."""

from __future__ import annotations

from array import array
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pedal.progress.intervals import Estimate, median_estimate, scatter_of, share_estimate
from pedal.progress.tries import Numbers
from pedal.values import frozen

LEAST_CYCLES = 4
"""Fewer waves say nothing of how even they are."""
UNEVEN = 0.70
EVEN = 0.85
"""Even strings measure 0.89 at worst (docs/sources.md): what lies between the two is called neither."""
TimedRow = tuple[float | None, float | None, float, float, str | None, float | None]
"""beat_ms, hold_s, vibrato_hz, vibrato_cents, vibrato_side, vibrato_evenness of a note."""


@frozen
class TimeAndVibrato:
    """None where nothing of the kind was played.

    late_ms : median of milliseconds from the nearest beat, late positive; late_spread_ms : their scatter.
    rise_s : median of rises; rise_scatter : their scatter as a share of it.
    rate_hz, width_cents : medians of vibrato, `width_cents` half of peak to peak.
    both, above : shares of vibratos that swing to both sides, or above only.
    even : share of those even enough, among those with waves enough to tell and a clear answer.
    """

    late_ms: Estimate | None
    late_spread_ms: float | None
    rise_s: Estimate | None
    rise_scatter: float | None
    rate_hz: Estimate | None
    width_cents: Estimate | None
    both: float | None
    above: float | None
    even: Estimate | None


@dataclass(slots=True)
class TimedNotes:
    """`.add(rows)` gathers, `.figures(rises)` tells; a few numbers a note are kept."""

    _late: Numbers = field(default_factory=lambda: array("d"))
    _rate: Numbers = field(default_factory=lambda: array("d"))
    _width: Numbers = field(default_factory=lambda: array("d"))
    _sides: dict[str, int] = field(default_factory=dict)
    _even: int = 0
    _uneven: int = 0

    def add(self, rows: Iterable[TimedRow]) -> None:
        """Rows of judged notes, in any order."""
        for beat_ms, hold_s, rate_hz, width_cents, side, evenness in rows:
            if beat_ms is not None:
                self._late.append(beat_ms)
            if rate_hz <= 0:
                continue
            self._rate.append(rate_hz)
            self._width.append(width_cents)
            if side is not None:
                self._sides[side] = self._sides.get(side, 0) + 1
            word = evenness_word(evenness, rate_hz, hold_s)
            self._even += word == "even"
            self._uneven += word == "uneven"

    def figures(self, rises_s: NDArray[np.float64]) -> TimeAndVibrato:
        """What was gathered, and the rises of the same notes: an array of seconds, NaN where unknown."""
        late, rises = np.frombuffer(self._late, np.float64), rises_s[~np.isnan(rises_s)]
        sided = sum(self._sides.values())
        rise = median_estimate(rises)
        return TimeAndVibrato(
            late_ms=median_estimate(late),
            late_spread_ms=scatter_of(late) or 0.0,
            rise_s=rise,
            rise_scatter=(scatter_of(rises) or 0.0) / rise.value if rise is not None and rise.value > 0 else None,
            rate_hz=median_estimate(np.frombuffer(self._rate, np.float64)),
            width_cents=median_estimate(np.frombuffer(self._width, np.float64)),
            both=self._sides.get("both", 0) / sided if sided else None,
            above=self._sides.get("above", 0) / sided if sided else None,
            even=share_estimate(self._even, self._even + self._uneven),
        )


def evenness_word(evenness: float | None, rate_hz: float, hold_s: float | None) -> str:
    """Even, uneven, or nothing where there were too few waves, or it lies between.

    >>> evenness_word(0.9, 5.0, 1.0), evenness_word(0.5, 5.0, 1.0), evenness_word(0.5, 5.0, 0.5)
    ('even', 'uneven', '')
    """
    if evenness is None or hold_s is None or hold_s * rate_hz < LEAST_CYCLES:
        return ""
    return "uneven" if evenness < UNEVEN else "even" if evenness >= EVEN else ""
