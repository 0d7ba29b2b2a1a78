"""Samples with the pedal's own clicks in them -> the same with clicks hushed where nothing else sounds.

A click that comes back is no string, but the ear hears that something was struck. When it comes is known, and how loud
it comes back is learned from the quietest of its kind: on the first beats of the count-in nobody plays. What is not
much louder than that, in the few hundredths of a second of a click, is turned down; a string that is struck on the beat
is louder, and passes whole.
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from pedal.theory.pulse import BEATS_A_BAR, Grid

BEFORE_S, AFTER_S = 0.006, 0.070
"""Around a click: how early the grid may be wrong, and how long it rings with a room behind it."""
LOUDER = 2.0
"""So much louder than the click ever was, it is something else (6 dB)."""
LOUDEST = 10 ** (-35 / 20)
"""RMS. Nothing above this is ever turned down: no string is taken for a click where clicks come back loud."""
REMEMBERED, QUIET_SHARE = 16, 0.25
CHUNK = 128
_HUSH = np.float32(0.02)


class ClickHush:
    """`.clean(samples, at, grid, off_beat)`: `at` is the number of the first sample on the axis of the grid."""

    def __init__(self, sample_rate: int) -> None:
        self._rate = sample_rate
        self._known: dict[str, deque[float]] = {
            kind: deque(maxlen=REMEMBERED) for kind in ("first", "beat", "off_beat")
        }
        # Before a click of its kind was heard: the loudest that a click may be.
        self._limits = dict.fromkeys(self._known, LOUDEST)
        self._window: tuple[str, int] | None = None
        self._loudest = 0.0

    def clean(self, samples: NDArray[np.float32], at: int, grid: Grid, off_beat: float) -> NDArray[np.float32]:
        """The samples, with what is a click and no more turned down; the same array where there is none."""
        made = samples
        for start in range(0, len(samples), CHUNK):
            piece = samples[start : start + CHUNK]
            window = self._window_at((at + start + len(piece) / 2) / self._rate, grid, off_beat)
            if window != self._window:
                self._close()
                self._window = window
            if window is None:
                continue
            level = float(np.sqrt(np.mean(piece.astype(np.float64) ** 2)))
            self._loudest = max(self._loudest, level)
            if level <= self._limits[window[0]]:
                if made is samples:
                    made = samples.copy()
                made[start : start + CHUNK] *= _HUSH
        return made

    def _close(self) -> None:
        """A window is over: how loud it was belongs to what is known of its kind."""
        if self._window is not None:
            kind = self._window[0]
            known = self._known[kind]
            known.append(self._loudest)
            usual = sorted(known)[int(QUIET_SHARE * (len(known) - 1))]
            self._limits[kind] = min(LOUDEST, LOUDER * usual)
        self._loudest = 0.0

    def _window_at(self, time_s: float, grid: Grid, off_beat: float) -> tuple[str, int] | None:
        """The click whose window a moment lies in: its kind and its beat."""
        since = time_s - grid.zero_s + BEFORE_S
        beat = int(since // grid.beat_s)
        into_s = since - beat * grid.beat_s
        if beat < 0:
            return None
        if into_s < BEFORE_S + AFTER_S:
            return ("first" if beat % BEATS_A_BAR == 0 else "beat", beat)
        if 0.0 <= into_s - off_beat * grid.beat_s < BEFORE_S + AFTER_S:
            return ("off_beat", beat)
        return None
