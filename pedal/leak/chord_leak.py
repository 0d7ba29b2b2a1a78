"""Samples with the pedal's own chords in time in them -> the same without them, as far as they come back.

What is played is known to the last phase, so it is enough to learn the way back (`way_back.py`): a fifth of a second of
a chord, also beside a string. What was learned holds for every chord that has the partial, and is taken off from then
on, also under a note. Clicks are learned as a sound (`click_path.py`), and in the count-in, which is clicks alone, tell
how two clocks differ. Before a grid is known nothing is done.
"""

from __future__ import annotations

import numpy as np

from pedal.leak.chord_fit import CHUNK, ChordFit, lines_of
from pedal.leak.click_finder import ClickFinder
from pedal.leak.click_path import BEFORE_S as JUMPED_S
from pedal.leak.click_path import HUSHED_FROM_S, ClickPath
from pedal.leak.drone_leak import FADE_S, NEW_GATE_DB, OPENING_S, STRETCH_S, SURE_DB, Samples
from pedal.leak.way_back import WayBack
from pedal.leak.way_time import FAR_S, WayTime
from pedal.theory.pulse import COUNT_IN_BEATS, Grid, Pulse
from pedal.theory.voice import CROSSING_S, Floats, chord_partials, crossed

EXPECTED_SHARE = 2.0
"""What is no louder than this beside a chord that is not known yet is taken for it."""
KNOWN_SHARE = 0.25
"""A chord counts as known once no more of its power than this may come back otherwise."""
FLOOR_RISES = 1.02
"""A piece, of what is held for the level of the room: what is hushed is turned down to it, and no further."""


class ChordLeak:
    """`.follow(pulse)` tells what is played, `.lies(grid)` where it lies, `.clean(samples)` gives the sound without it.

    Times of the grid count from the first sample ever, the lost ones with them.
    """

    def __init__(self, sample_rate: int, heard: int = 0) -> None:
        self._rate, self._heard = sample_rate, heard
        self._pulse: Pulse | None = None
        self._level_db = 0.0
        self._told: Grid | None = None
        self._grid: Grid | None = None
        self._floor = 1.0
        self._fading, self._fades_until, self._begins_by = 0.0, 0, 0
        self._before: Floats = np.zeros(0)
        self._finder: ClickFinder | None = None
        self._looked_from_s = 0.0
        """Where the grid lay when the finder began."""
        self._forget()

    def _forget(self) -> None:
        """Nothing is known of the way back."""
        chords = [] if self._pulse is None else [chord for chord in dict.fromkeys(self._pulse.bars) if chord]
        partials = {chord: chord_partials(chord, highest_hz=0.45 * self._rate) for chord in chords}
        lines = lines_of(partials.values())
        self._fits = {chord: ChordFit(each, self._rate, lines) for chord, each in partials.items()}
        self._way, self._time = WayBack(len(lines)), WayTime(lines)
        self._click_path = None if self._pulse is None else ClickPath(self._pulse, self._rate)
        self._zero = 0 if self._grid is None else round(self._grid.zero_s * self._rate)
        self._quiet_so_far = self._quiet_before_chords = True
        length = next(iter(self._fits.values())).length if self._fits else 0
        self._window: Floats = np.zeros(length)
        self._filled = 0
        self._look_in = round(STRETCH_S / 4 * self._rate)  # so that a pause of 0.3 s holds two windows at least

    def follow(self, pulse: Pulse | None, level_db: float = 0.0) -> None:
        """What is played from now on; what was learned is void, unless it is the same, louder or softer."""
        if pulse == self._pulse:
            if level_db != self._level_db and self._click_path is not None:
                self._way.turn(10 ** ((level_db - self._level_db) / 20))
                self._click_path.turn(10 ** ((level_db - self._level_db) / 20))
            self._level_db = level_db
            return
        if self._grid is not None and self._way.level > 0.0:
            loudest = max(fit.power for fit in self._fits.values())
            self._fading = EXPECTED_SHARE * self._way.level * float(np.sqrt(loudest))
            self._fades_until = self._heard + round(FADE_S * self._rate)
        # Within as long again as it takes to open an output tells where its first beat lies, if it plays at all.
        self._begins_by = self._heard + round(2 * OPENING_S * self._rate)
        self._finder = None
        self._pulse, self._level_db, self._told, self._grid = pulse, level_db, None, None
        self._forget()

    def begin_anew(self) -> None:
        """The input or the output began anew: the way back is another one until the grid says more."""
        self._forget()
        self._before = self._before[:0]

    def lies(self, grid: Grid | None, *, heard: bool = False) -> None:
        """Where the pulse lies. A grid that jumps, because the output ran dry, is looked for in the sound.

        heard : it was moved to where the clicks were heard, and is sure.
        """
        before, self._told = self._told, grid
        if self._finder is not None and grid is not None:
            if heard:
                self._looked_from_s = grid.zero_s
            elif abs(grid.zero_s - self._looked_from_s) > HUSHED_FROM_S:
                self._finder.forget()  # what is told does not stand: where clicks came tells nothing of it
                self._looked_from_s = grid.zero_s
        if before is None or grid is None or heard or not self._way.level:
            if before is None or grid is None or abs(grid.zero_s - self._zero / self._rate) > JUMPED_S:
                self._adopt(grid)
            return
        self._time.tell(grid.zero_s - self._zero / self._rate)

    def _adopt(self, grid: Grid | None) -> None:
        """Learn anew, by this grid."""
        if self._grid is not None:
            self._forget()
        self._grid = grid
        if grid is not None and self._click_path is not None and self._pulse is not None:
            self._zero = round(grid.zero_s * self._rate)
            self._finder, self._looked_from_s = ClickFinder(self._pulse, self._rate), grid.zero_s
            # Where it is told late, the first click has been heard already, and how loud it was before that.
            begin = self._heard - len(self._before) - self._zero
            self._finder.hear(begin, self._before)
            self._click_path.learn(begin, self._before)
            for at in range(0, len(self._before), CHUNK):
                self._click_path.hush(begin + at, self._before[at : at + CHUNK].copy())
            self._before = self._before[:0]

    def skip(self, samples: int) -> None:
        """So many samples were lost."""
        self._heard += samples
        if samples:
            self._filled = 0
            self._before = self._before[:0]

    def clean(self, samples: Samples) -> Samples:
        """The samples without the leak; the very same array while there is nothing to do."""
        if not len(samples):  # a gap before a stream that is opened anew comes by itself
            return samples
        if self._pulse is None or self._grid is None or self._click_path is None:
            self._heard += len(samples)
            fades = self._heard < self._fades_until
            if self._pulse is None and not fades:
                return samples
            below = self._fading if fades else 0.0
            if self._pulse is not None and self._quiet_so_far and self._heard < self._begins_by:
                below = max(below, 10 ** (NEW_GATE_DB / 20))  # its first click, before it is told where it lies
            # The first click may be in it.
            self._before = np.concatenate([self._before, samples])[-round(STRETCH_S * self._rate) :]
            made = self._hushed(samples, below)
            return samples if made is samples else made.astype(np.float32)
        if self._way.level and not samples.any():  # dead, as a muted input: it tells nothing of the way that is known
            self.skip(len(samples))
            return samples
        heard = samples.astype(np.float64)
        if self._finder is not None:
            self._finder.hear(self._heard - self._zero, heard)
        start = 0
        pieces: list[Floats] = []
        while start < len(samples):
            stop = min(len(samples), start + self._look_in)
            pieces.append(self._piece(self._pulse, self._click_path, heard[start:stop]))
            start = stop
        return np.concatenate(pieces).astype(np.float32)

    def _piece(self, pulse: Pulse, clicks: ClickPath, samples: Floats) -> Floats:
        """A piece that ends with a window to look at, at the latest."""
        at, count = self._heard - self._zero, len(samples)
        late = self._time.late(at / self._rate) * self._rate
        ticks = clicks.expected(at, count, late)
        rest = samples - ticks
        self._remember(rest)
        self._heard += count
        self._look_in -= count
        chords, hushed_below = self._chords(pulse, at, count)
        made = rest - chords
        if (at + count - late) / self._rate < COUNT_IN_BEATS * pulse.beat_s - CROSSING_S:
            # So soft that no string sounds on into the first chord.
            self._quiet_before_chords = _level(made) < 10 ** (SURE_DB / 20)
        clicks.learn(at - round(late), made + ticks, tells_time=not self._way.level)
        for at_s, earlier_s, alike in clicks.told:
            # Clicks are laid side by side by whole samples.
            self._time.follow(-earlier_s - (late - round(late)) / self._rate, at_s, alike)
        clicks.told.clear()
        clicks.hush(at - round(late), made)
        if self._look_in <= 0:
            self._look_in = round(STRETCH_S / 4 * self._rate)
            self._look(pulse)
        return self._hushed(made, hushed_below)

    def _hushed(self, samples: Floats | Samples, below: float) -> Floats:
        """The samples; what is softer than `below` no louder than the room is."""
        level = _level(samples)
        self._quiet_so_far &= level < 10 ** (NEW_GATE_DB / 20)
        self._quiet_before_chords &= level < 10 ** (NEW_GATE_DB / 20)
        if self._floor < level < below:
            return np.asarray(samples * (self._floor / level))
        # What is dead tells nothing of the room, and no level rises out of 0 again.
        if alive := np.count_nonzero(samples):
            self._floor = min(level * float(np.sqrt(len(samples) / alive)), FLOOR_RISES * self._floor)
        return np.asarray(samples)

    def _chords(self, pulse: Pulse, at: int, count: int) -> tuple[Floats, float]:
        """What comes back of chords, and the level below which all that is left is taken for one not known yet."""
        times = (at + np.arange(count)) / self._rate - self._time.late(at / self._rate)
        made, hushed_below = np.zeros(count), 0.0
        for stretch in pulse.stretches(times[0] - CROSSING_S / 2, times[-1] + CROSSING_S / 2):
            fit = self._fits.get(stretch.hz)
            if fit is None:
                continue
            share = crossed(times, stretch.start_s, stretch.end_s)
            made += share * fit.wave(self._way.ways, times[0], count)
            if self._way.unknown(fit.lines, fit.powers) > KNOWN_SHARE:
                expected = EXPECTED_SHARE * self._way.level * float(np.sqrt(fit.power))
                # The first one is known within a beat; until then what is soft is taken for it, if nothing was louder.
                new = (
                    (self._quiet_so_far or self._quiet_before_chords)
                    and not self._way.level
                    and times[0] < (COUNT_IN_BEATS + 1) * pulse.beat_s
                )
                hushed_below = max(hushed_below, expected, 10 ** (NEW_GATE_DB / 20) if new else 0.0)
        return made, hushed_below

    def _remember(self, samples: Floats) -> None:
        """The newest window's worth; a piece is shorter than that."""
        count = min(len(samples), len(self._window))
        if count:
            self._window[:-count] = self._window[count:]
            self._window[-count:] = samples[-count:]
        self._filled += len(samples)

    def _look(self, pulse: Pulse) -> None:
        """Learn from the window that ends here, if one chord sounded in all of it."""
        length = len(self._window)
        if self._filled < length or not self._window.any():  # in a long block what is dead may lie behind what is not
            return
        from_s = (self._heard - self._zero - length) / self._rate
        alone_s = CROSSING_S / 2 + FAR_S  # however late the grid is known
        middle_s = from_s + length / 2 / self._rate
        first_s = from_s - self._time.late(middle_s)
        around = pulse.stretches(first_s - alone_s, first_s + length / self._rate + alone_s)
        if not around or first_s < 0.0 or len({each.hz for each in around}) > 1:
            return
        fit = self._fits.get(around[0].hz)
        if fit is None:
            return
        seen = self._time.look(lambda late_s: fit.see(self._window, from_s - late_s), self._way, fit.powers, middle_s)
        self._way.learn(seen, fit.powers)
        told = self._told
        if self._way.lost and told is not None and abs(told.zero_s - self._zero / self._rate) > JUMPED_S:
            self._adopt(told)

    @property
    def clicks_from_s(self) -> float | None:
        """Where the first click lies by how the others were heard; None while they are not."""
        later_s = None if self._finder is None else self._finder.later_s
        return None if later_s is None else self._zero / self._rate + later_s

    @property
    def learned(self) -> int:
        """How many of the chords are known."""
        every = self._fits.values()
        return sum(self._way.level > 0 and self._way.unknown(each.lines, each.powers) < KNOWN_SHARE for each in every)


def _level(samples: Floats | Samples) -> float:
    """Root of the mean square."""
    return float(np.sqrt(samples @ samples / len(samples)))
