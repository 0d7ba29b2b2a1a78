"""Samples with the pedal's own chords in time in them -> the same without them, as far as they come back.

The chord is another one every bar, but one that comes back is what it was: its phases follow from the time alone. So
each chord has a `LeakFilter` of its own, which learns in the pauses of a player while it sounds, and what it learned is
taken off from then on, also under a note. The grid says which chord sounds; where two cross, both are taken off by
their shares. Clicks are hushed by `click_hush.py`. Before a grid is known nothing is done.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from pedal.pitch.click_hush import ClickHush
from pedal.pitch.leak import LeakFilter, Samples
from pedal.theory.pulse import BEATS_A_BAR, COUNT_IN_BEATS, Grid, Pulse

CROSSING_S = 0.05
"""As `pedal.synth.backing` crosses from chord to chord; a test holds both to each other."""
SURE_S = 0.03
"""So far from a crossing a chord sounds alone, however late the grid is known."""


class ChordLeak:
    """`.follow(pulse)` tells what is played, `.lies(grid)` where it lies, `.clean(samples)` gives the sound without it.

    Times of the grid count from the first sample ever, the lost ones with them.
    """

    def __init__(self, sample_rate: int, heard: int = 0) -> None:
        self._rate, self._heard = sample_rate, heard
        self._pulse: Pulse | None = None
        self._grid: Grid | None = None
        self._filters: dict[tuple[float, ...], LeakFilter] = {}
        self._clicks = ClickHush(sample_rate)

    def follow(self, pulse: Pulse | None) -> None:
        """What is played from now on; what was learned is void."""
        self._pulse, self._grid, self._filters = pulse, None, {}
        self._clicks = ClickHush(self._rate)

    def lies(self, grid: Grid | None) -> None:
        """Where the pulse lies. A grid that has jumped makes all that was learned void: the output ran dry."""
        if grid is not None and self._grid is not None and abs(grid.zero_s - self._grid.zero_s) > SURE_S / 2:
            self._filters = {}
        self._grid = grid

    def skip(self, samples: int) -> None:
        """So many samples were lost."""
        self._heard += samples
        for each in self._filters.values():
            each.skip(samples)

    def clean(self, samples: Samples) -> Samples:
        """The samples without the leak; the very same array while there is nothing to do."""
        if self._pulse is None or self._grid is None:
            self.skip(len(samples))
            return samples
        first = self._heard
        made, start = [], 0
        while start < len(samples):
            stop, work = self._piece(self._grid, start, len(samples))
            made.append(work(samples[start:stop]))
            start = stop
        return self._clicks.clean(np.concatenate(made), first, self._grid, self._pulse.off_beat)

    def _piece(self, grid: Grid, start: int, end: int) -> tuple[int, Callable[[Samples], Samples]]:
        """The end of the longest piece from `start` on in which one chord sounds, or two cross, and what to do."""
        at_s = self._heard / self._rate
        bar_s = BEATS_A_BAR * grid.beat_s
        first_s = grid.zero_s + COUNT_IN_BEATS * grid.beat_s
        bar = math.floor((at_s - first_s) / bar_s + 0.5)  # of the nearest border
        border_s = first_s + bar * bar_s
        low_s, high_s = border_s - CROSSING_S / 2 - SURE_S, border_s + CROSSING_S / 2 + SURE_S
        if low_s <= at_s < high_s:
            stop = min(end, start + max(1, round((high_s - at_s) * self._rate)))
            return stop, lambda piece: self._crossing(piece, bar, border_s)
        until_s = low_s if at_s < low_s else low_s + bar_s
        stop = min(end, start + max(1, round((until_s - at_s) * self._rate)))
        return stop, lambda piece: self._steady(piece, bar if at_s >= high_s else bar - 1)

    def _hz(self, bar: int) -> tuple[float, ...]:
        return () if self._pulse is None else self._pulse.chord(COUNT_IN_BEATS + BEATS_A_BAR * bar)

    def _filter(self, hz: tuple[float, ...]) -> LeakFilter:
        found = self._filters.get(hz)
        if found is None:
            found = self._filters[hz] = LeakFilter(self._rate)
            found.skip(self._heard)
            found.expect(hz, settle_s=SURE_S)
        return found

    def _steady(self, piece: Samples, bar: int) -> Samples:
        hz = self._hz(bar)
        own = self._filter(hz) if hz else None
        for each in self._filters.values():
            if each is not own:
                each.skip(len(piece))
        self._heard += len(piece)
        return piece if own is None else own.clean(piece)

    def _crossing(self, piece: Samples, bar: int, border_s: float) -> Samples:
        times = (self._heard + np.arange(len(piece))) / self._rate
        came = np.clip((times - border_s) / CROSSING_S + 0.5, 0.0, 1.0)
        share = 0.5 - 0.5 * np.cos(np.pi * came)
        made = piece.astype(np.float64)
        for hz, part in ((self._hz(bar - 1), 1.0 - share), (self._hz(bar), share)):
            if hz and hz in self._filters:
                made -= part * self._filters[hz].estimate(len(piece))
        self.skip(len(piece))
        return made.astype(np.float32)

    @property
    def learned(self) -> int:
        """How many of the chords are known."""
        return sum(len(each.leak) > 0 for each in self._filters.values())
