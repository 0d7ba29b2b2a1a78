"""The runs of one pluck -> its tones, each a finished note."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pedal.notes.decoder import BIN_S, FURTHEST_CENTS, HALF_FRET_CENTS
from pedal.notes.middle import middle
from pedal.notes.note import BegunBy, Ending, Mend, Note, Refusal, Shape, Trace
from pedal.notes.passage import way_of
from pedal.notes.runs import (
    LEAST_FALL_CENTS,
    LEAST_JUMP_CENTS,
    LEAST_RISE_CENTS,
    PASSING_S,
    STOOD_S,
    Move,
    Run,
    Swing,
    find_swing,
    joined,
    of_a_hand,
    step_between,
    without_last_touch,
)
from pedal.notes.strikes import PAST_S
from pedal.notes.vibrato import measure_vibrato
from pedal.values import frozen

Floats = NDArray[np.float64]
Swinging = tuple[Swing, int, int] | None
"""Vibrato, and the runs (from, to) that it takes up."""

SHORTEST_S = 0.045
"""Less does not show whether the pitch stands. A low string is heard some 40 ms late, so 85 ms of it are enough."""
PLUCKED_CENTS, PLUCKED_S = 8.0, 0.1
"""How far a rest that ends so soon after the pluck lies off the string's later pitch (1 sigma, falling exponentially).
Measured on 139 recorded notes: 68 % within 7.7 cents after 30 ms, 5.4 after 60, 4.6 after 100, 2.6 after 200.
A pitch that comes down before the string first stands, so soon after the pluck, is the pick's own noise; and what stood
so long, further off than a finger gets and at no multiple, was no slip, but another string."""
HEARD_SIGMA_CENTS = PLUCKED_CENTS * math.exp(-PASSING_S / PLUCKED_S)
"""A rest known no worse than this was heard; a worse one leans on the grid."""
RELEASED_SHARE = 0.5
RAGGED_CENTS = 3.5
LEAST_PITCHED_SHARE = 0.6


@frozen
class Heard:
    """The trusted readings of a pluck: equal lengths, `cents` above `base_hz`; bin n begins at `zero_s + n BIN_S`."""

    base_hz: float
    zero_s: float
    time_s: Floats
    heard_s: Floats
    cents: Floats

    def hz(self, cents: float) -> float:
        """A height above `base_hz` as a frequency."""
        return float(self.base_hz * 2.0 ** (cents / 1200.0))

    def at(self, bin_number: float) -> float:
        """Seconds since the first sample of a bin's beginning."""
        return self.zero_s + bin_number * BIN_S

    def between(self, begin: int, end: int) -> NDArray[np.bool_]:
        """The readings of bins `begin` to `end` (open)."""
        return np.asarray((self.time_s >= self.at(begin)) & (self.time_s < self.at(end)))


@frozen
class Ends:
    """How the pluck as a whole began and ended."""

    onset_s: float
    end_s: float
    by_hand: bool


def tell_notes(runs: list[Run], heard: Heard, ends: Ends, trace: Trace) -> list[Note]:
    """The notes of one pluck: one a tone; a slide or trill is one refused note."""
    runs = of_a_hand(_of_one_string(runs))
    if not runs:
        return [refused(ends, "no_pitch", trace)]
    heard = replace(heard, cents=_put_right(heard.cents, runs))
    if _is_ragged(heard):
        return [refused(ends, "no_pitch", trace)]
    runs = _without_attack(runs, heard.at(runs[0].begin) - ends.onset_s)
    runs = _stood_first(runs, heard)
    swing = find_swing(runs)
    tones, ways = _tones(runs, heard, swing)
    if len(tones) > 1:
        level = all(_is_level(t) for t in tones)
        if "slide" in ways and level:
            return [refused(ends, "slide", trace, heard.hz(tones[0][0].from_cents))]
        if len(ways) > 2 and level:
            return [refused(ends, "hammer_on", trace, heard.hz(tones[0][0].from_cents))]
    notes: list[Note] = []
    for number, tone in enumerate(tones):
        begin = ends.onset_s if number == 0 else heard.at(tone[0].begin)
        last = number == len(tones) - 1
        end = ends.end_s if last else heard.at(tones[number + 1][0].begin)
        own = Ends(begin, end, by_hand=ends.by_hand if last else True)
        begun = "pluck" if number == 0 else ways[number - 1]
        if len(tones) == 1:
            return [_tell_tone(tone, heard, own, begun, trace, swing=swing)]
        part = _part(trace, begin, end)
        notes.append(_tell_tone(tone, heard, own, begun, part, swing=find_swing(tone)))
    return notes


def _part(trace: Trace, begin_s: float, end_s: float) -> Trace:
    keep = (trace.time_s >= begin_s) & (trace.time_s < end_s)
    return Trace(trace.time_s[keep], trace.hz[keep], trace.level_db[keep])


def refused(ends: Ends, refusal: Refusal, trace: Trace, hz: float | None = None) -> Note:
    """A note without a story; `hz` is where it began, if that is known."""
    return Note(
        onset_s=ends.onset_s,
        end_s=ends.end_s,
        shape="not_a_bend",
        rest_hz=hz,
        first_hz=hz,
        hold_hz=hz,
        peak_hz=None,
        final_hz=None,
        rise_s=0.0,
        hold_s=0.0,
        ending="cut",
        vibrato=None,
        refusal=refusal,
        trace=trace,
    )


def _is_ragged(heard: Heard) -> bool:
    """Whether the pitch was too ragged or too seldom heard to be one string's."""
    if len(heard.cents) < 3:
        return True
    ragged = middle(np.abs(np.diff(heard.cents, 2))) > RAGGED_CENTS
    step = middle(np.diff(heard.time_s))
    pitched = len(heard.cents) * step / max(1e-6, float(heard.time_s[-1] - heard.time_s[0]) + step)
    return ragged or pitched < LEAST_PITCHED_SHARE


def _of_one_string(runs: list[Run]) -> list[Run]:
    """The runs less those further off than a finger gets: the tracker's slips, and what rings after the string."""
    runs = _in_one_octave(runs)
    flats = [r for r in runs if r.move == "flat"]
    if not flats:
        return _without_last_leap(runs)
    longest = max(flats, key=lambda r: r.seconds)
    kept = [
        r for r in runs if max(abs(r.from_cents - longest.cents), abs(r.to_cents - longest.cents)) <= FURTHEST_CENTS
    ]
    if any(
        r.seconds >= PLUCKED_S and not _is_multiple(r.cents - longest.cents)
        for r in flats
        if r not in kept and r.begin < longest.begin
    ):
        return []
    made: list[Run] = []
    for run in kept:  # what stood before and after a slip is one stand
        if made and made[-1].move == run.move == "flat" and abs(made[-1].cents - run.cents) < LEAST_RISE_CENTS:
            run = joined(made.pop(), run)
        elif made and made[-1].move == run.move == "flat":
            made.append(step_between(made[-1], run))
        made.append(run)
    return first_heard(_without_last_leap(made))


def _without_last_leap(runs: list[Run]) -> list[Run]:
    """The runs up to the last that is no jump: what it leaps to has not stood."""
    last = next((k for k in range(len(runs), 0, -1) if not runs[k - 1].jump), 0)
    return runs[:last]


def first_heard(runs: list[Run]) -> list[Run]:
    """The runs from the first that is no jump: nothing was heard before it."""
    first = next((k for k, run in enumerate(runs) if not run.jump), len(runs))
    return runs[first:]


def _in_one_octave(runs: list[Run]) -> list[Run]:
    """The runs that the ear heard at a whole part or multiple of the pitch, put where they belong.

    Only where they then join on: what is left of the step is no more than a quick curl. The longest stand is right.
    """
    flats = [k for k, run in enumerate(runs) if run.move == "flat"]
    if not flats:
        return runs
    right, made = max(flats, key=lambda k: runs[k].seconds), list(runs)
    for k in [*range(right - 1, -1, -1), *range(right + 1, len(runs))]:
        seam = made[k]
        goes = {run.move for run in made[max(0, k - 1) : k + 2] if not run.jump}
        on = HALF_FRET_CENTS if "up" in goes else -HALF_FRET_CENTS if "down" in goes else 0.0
        whole = _is_multiple(seam.height) or _is_multiple(seam.height - on)  # it moved on while the ear looked
        if not _leaps(seam) or not whole:
            continue
        times = round(2.0 ** (abs(seam.height) / 1200.0))
        shift = math.copysign(1200.0 * math.log2(times), seam.height)
        # Up to the next leap: what lies beyond it may have been right.
        if k < right:
            end = next((n for n in range(k - 1, -1, -1) if _leaps(made[n])), -1)
            made[end + 1 : k] = [_misheard(run, shift) for run in made[end + 1 : k]]
            made[k] = _step(seam, seam.from_cents + shift, seam.to_cents)
            if end >= 0:
                made[end] = _step(made[end], made[end].from_cents, made[end].to_cents + shift)
        else:
            end = next((n for n in range(k + 1, len(made)) if _leaps(made[n])), len(made))
            made[k + 1 : end] = [_misheard(run, -shift) for run in made[k + 1 : end]]
            made[k] = _step(seam, seam.from_cents, seam.to_cents - shift)
            if end < len(made):
                made[end] = _step(made[end], made[end].from_cents - shift, made[end].to_cents)
    return made


def _leaps(run: Run) -> bool:
    return run.jump and abs(run.height) > FURTHEST_CENTS


def _put_right(cents: Floats, runs: list[Run]) -> Floats:
    """Readings in another octave, or a twelfth off, put where the runs lie."""
    heights = [h for run in runs for h in (run.from_cents, run.to_cents)]
    low, high = min(heights) - HALF_FRET_CENTS, max(heights) + HALF_FRET_CENTS
    for times in (2.0, 3.0, 0.5, 1.0 / 3.0):
        moved = cents + 1200.0 * math.log2(times)
        wrong = ((cents < low) | (cents > high)) & (low <= moved) & (moved <= high)
        if wrong.any():
            cents = np.where(wrong, moved, cents)
    return cents


def _misheard(run: Run, by_cents: float) -> Run:
    known = max(PLUCKED_CENTS, run.sigma_cents)
    begin, end = run.from_cents + by_cents, run.to_cents + by_cents
    return replace(run, from_cents=begin, to_cents=end, sigma_cents=known, first_cents=None)


def _step(seam: Run, begin: float, end: float) -> Run:
    """What is left of a step between two octaves."""
    moved = end - begin
    move: Move = "flat" if abs(moved) < LEAST_RISE_CENTS else "up" if moved > 0 else "down"
    known = max(PLUCKED_CENTS, seam.sigma_cents)
    return replace(seam, move=move, from_cents=begin, to_cents=end, sigma_cents=known, jump=move != "flat")


def _is_multiple(cents: float) -> bool:
    """Whether the ear heard a whole multiple or part of the pitch."""
    times = 2.0 ** (abs(cents) / 1200.0)
    return abs(1200.0 * math.log2(times / max(1, round(times)))) < HALF_FRET_CENTS


def _tones(runs: list[Run], heard: Heard, swing: Swinging) -> tuple[list[list[Run]], list[BegunBy]]:
    """The runs parted at jumps and slides, and what began each tone after the first."""
    tones: list[list[Run]] = [[]]
    ways: list[BegunBy] = []
    k = 0
    while k < len(runs):
        end = _move_end(runs, k)
        moved = end > k and bool(tones[-1]) and end < len(runs) and not (swing and swing[1] <= k < swing[2])
        if moved:
            a, b = runs[k - 1].to_cents, runs[end].from_cents
            way = _way(heard, runs[k].begin, runs[end - 1].end, a, b)
            if way != "glide" and runs[k - 1].seconds >= SHORTEST_S / 2 and _lasts(runs[end:]):
                tones.append([])
                ways.append("slide" if way == "slide" else "hammer_on" if b > a else "pull_off")
                k = end
                continue
        if end > k:
            tones[-1] += runs[k:end]
            k = end
        else:
            tones[-1].append(runs[k])
            k += 1
    return tones, ways


def _stood_first(runs: list[Run], heard: Heard) -> list[Run]:
    """The runs with a first move parted that was a leap: into where the string stood, and the leap."""
    end = _move_end(runs, 0) if runs else 0
    if not 0 < end < len(runs):
        return runs
    keep = heard.between(runs[0].begin, runs[end - 1].end)
    time_s, cents, last = heard.time_s[keep], heard.cents[keep], runs[end].from_cents
    if len(cents) < 3:
        return runs
    first = middle(cents[:3])
    if _way(heard, runs[0].begin, runs[end - 1].end, first, last) != "jump":
        return runs
    gone = np.flatnonzero(np.abs(cents - first) > 0.1 * abs(last - first))
    if not len(gone) or time_s[gone[0]] - time_s[0] < SHORTEST_S / 2:
        return runs
    leaves, level = int((time_s[gone[0]] - heard.zero_s) / BIN_S), middle(cents[: gone[0]])
    rest = Run("flat", runs[0].begin, leaves, level, level, 1.0)
    return [rest, Run(runs[0].move, leaves, runs[end - 1].end, level, last), *runs[end:]]


def _lasts(runs: list[Run]) -> bool:
    return (runs[-1].end - runs[0].begin) * BIN_S >= SHORTEST_S


def _move_end(runs: list[Run], k: int) -> int:
    """The run after a move in one direction that begins at run `k`, its passing stands included; `k` if none does."""
    move = runs[k].move
    if move == "flat":
        return k
    end = k + 1
    while (
        end + 1 < len(runs)
        and runs[end].move == "flat"
        and runs[end].seconds < PASSING_S
        and runs[end + 1].move == move
    ):
        end += 2
    while end < len(runs) and runs[end].move == move:
        end += 1
    return end


def _way(heard: Heard, begin: int, end: int, a: float, b: float) -> str:
    if abs(b - a) < LEAST_JUMP_CENTS:
        return "glide"
    keep = heard.between(begin - 2, end + 2)
    return way_of(heard.heard_s[keep], heard.cents[keep], a, b)


def _is_level(tone: list[Run]) -> bool:
    heights = [h for r in tone for h in (r.from_cents, r.to_cents)]
    return max(heights) - min(heights) < HALF_FRET_CENTS


@frozen
class _Plot:
    """What happened in a tone, in cents; times in bins."""

    shape: Shape
    rest: Run | None
    first: float
    hold: float
    peak: float
    rise_bins: float = 0.0
    hold_bins: float = 0.0
    left_bin: int | None = None
    mend: tuple[float, int] | None = None


def _tell_tone(runs: list[Run], heard: Heard, ends: Ends, begun: BegunBy, trace: Trace, *, swing: Swinging) -> Note:
    runs = without_last_touch(runs)
    seconds = (runs[-1].end - runs[0].begin) * BIN_S if runs else 0.0
    if seconds < SHORTEST_S:
        where = heard.hz(middle(np.array([r.to_cents for r in runs]))) if runs else None
        return replace(refused(ends, "too_short", trace, where), begun_by=begun)
    if runs[0].move == "up":
        runs = [replace(runs[0], from_cents=_first_heard(heard, runs[0])), *runs[1:]]
    plot = _plot(runs, swing, lambda run: _known(run, heard, ends.onset_s if begun == "pluck" else -math.inf))
    heights = [h for r in runs for h in (r.from_cents, r.to_cents)]
    if plot is None or max(heights) - min(heights) > FURTHEST_CENTS:
        return replace(refused(ends, "no_pitch", trace), begun_by=begun)
    keep = heard.between(runs[0].begin, runs[-1].end)
    final = _final(heard, keep)
    vibrato = None
    if swing is not None:
        within = heard.between(swing[0].begin, swing[0].end)
        vibrato = measure_vibrato(heard.time_s[within], heard.cents[within], swing[0], stood=plot.hold)
    rest_sigma = 0.0 if plot.rest is None else _known(plot.rest, heard, ends.onset_s if begun == "pluck" else -math.inf)
    from_hz = heard.hz(plot.first) if plot.rest is None and plot.shape in ("rise", "rise_fall") else None
    return Note(
        onset_s=ends.onset_s,
        end_s=ends.end_s,
        shape=plot.shape,
        rest_hz=None if plot.rest is None else heard.hz(plot.rest.to_cents),
        first_hz=heard.hz(plot.first),
        hold_hz=heard.hz(plot.hold),
        peak_hz=heard.hz(plot.peak),
        final_hz=heard.hz(final),
        rise_s=plot.rise_bins * BIN_S,
        hold_s=plot.hold_bins * BIN_S,
        ending=_ending(plot, final, by_hand=ends.by_hand),
        vibrato=vibrato,
        refusal=None,
        trace=trace,
        begun_by=begun,
        rest_sigma_cents=rest_sigma,
        from_hz=from_hz,
        raised_s=None if plot.left_bin is None else heard.at(plot.left_bin) - ends.onset_s,
        mend=None if plot.mend is None else Mend(heard.hz(plot.mend[0]), heard.at(plot.mend[1]) - ends.onset_s),
    )


def off_by_pluck(after_s: float) -> float:
    """How far a pitch heard so long after the pluck may lie off the string's later one (1 sigma), cents."""
    return PLUCKED_CENTS * math.exp(-after_s / PLUCKED_S)


def _known(rest: Run, heard: Heard, plucked_s: float) -> float:
    """How well a rest is known (1 sigma): by its readings, and by how long after the pluck it ended."""
    return math.hypot(rest.sigma_cents, off_by_pluck(heard.at(rest.end) - plucked_s))


def _first_heard(heard: Heard, run: Run) -> float:
    """Where a rise was first heard: a fit of all of it reaches below what never sounded."""
    cents = heard.cents[heard.between(run.begin, run.begin + 3)]
    return max(run.from_cents, middle(cents)) if len(cents) else run.from_cents


def _final(heard: Heard, keep: NDArray[np.bool_]) -> float:
    time_s, cents = heard.time_s[keep], heard.cents[keep]
    return middle(cents[time_s >= time_s[-1] - PAST_S]) if len(cents) else 0.0


def _without_attack(runs: list[Run], late_s: float) -> list[Run]:
    """The runs less what the pick itself, or the ear that looks for a pitch, makes of it before the string stands.

    `late_s`: how long after the pluck the first run begins. A hand that has just plucked does not let the string down
    so soon, and none moves it by less than a fret in no time.
    """
    limit = round((PLUCKED_S - late_s) / BIN_S) + runs[0].begin
    later = limit + round(PLUCKED_S / BIN_S)
    first = 0
    for k, run in enumerate(runs[1:], 1):
        before = runs[k - 1]
        if before.move == "flat" and before.seconds >= PASSING_S:
            break
        small = abs(before.height) < LEAST_JUMP_CENTS
        at_once = small and before.jump and before.begin == before.end
        risen = runs[k - 2].height if k > 1 and runs[k - 2].move == "up" else 0.0
        if risen > 2 * LEAST_JUMP_CENTS and not before.jump:
            break  # no pick's noise reaches so far: it is a bend that overshot
        peaked = small and 0.0 < risen < LEAST_JUMP_CENTS
        soon = run.begin <= (later if peaked else limit)
        if at_once or (soon and before.move == "down" and (small or not before.jump)):
            first = k
    runs = first_heard(runs[first:])
    if [run.move for run in runs[:3]] != ["up", "flat", "up"] or runs[0].height >= LEAST_JUMP_CENTS:
        return runs
    stand = runs[1]
    early = stand.seconds >= PASSING_S and stand.begin <= (later if stand.seconds >= STOOD_S else limit)
    return runs[1:] if early else runs  # no hand bends in two steps so soon


def _plot(runs: list[Run], swing: Swinging, known: Callable[[Run], float]) -> _Plot | None:
    """Rest, first pitch, hold and peak of one tone."""
    steps = _steps(runs, swing)
    first = steps[0]
    start = first.level
    top, bottom = max(s.high for s in steps), min(s.low for s in steps)
    moved_up, moved_down = top - start, start - bottom
    vibrato = next((s for s in steps if s.swing is not None), None)
    if vibrato is not None and _swings_from(vibrato, steps):
        stand = first if first.bins else vibrato
        return _Plot(
            "level", _as_run(stand), stand.level, stand.level, vibrato.high, 0.0, steps[-1].end - steps[0].begin
        )
    if moved_down >= LEAST_FALL_CENTS and moved_down > moved_up:
        return _fall(steps, first)
    if moved_up >= LEAST_RISE_CENTS:
        return _rise(steps, first, top, known)
    return _level(steps, first)


@frozen
class _Step:
    """A stand, a turning point (no bins) or vibrato: bins, level, extremes."""

    begin: int
    end: int
    level: float
    low: float
    high: float
    run: Run | None = None
    swing: Swing | None = None

    @property
    def bins(self) -> int:
        return self.end - self.begin


def _steps(runs: list[Run], swing: Swinging) -> list[_Step]:
    """Where the pitch stood, turned or swung, in order."""
    steps: list[_Step] = []
    for k, run in enumerate(runs):
        if swing and swing[1] <= k < swing[2]:
            if k == swing[1]:
                s = swing[0]
                steps.append(_Step(s.begin, s.end, s.middle, s.low, s.high, swing=s))
            continue
        within = (
            swing
            and k >= swing[2]
            and swing[0].low - LEAST_RISE_CENTS <= run.to_cents <= swing[0].high + LEAST_RISE_CENTS
        )
        if within and (run.move != "flat" or run.seconds < PASSING_S):
            continue  # the last stroke of the vibrato
        if run.move == "flat":
            steps.append(_Step(run.begin, run.end, run.cents, run.cents, run.cents, run=run))
            continue
        before = runs[k - 1] if k else None
        after = runs[k + 1] if k + 1 < len(runs) else None
        if before is None:
            steps.append(_Step(run.begin, run.begin, run.from_cents, run.from_cents, run.from_cents))
        if after is None or (after.move not in ("flat", run.move) and not (swing and k + 1 == swing[1])):
            steps.append(_Step(run.end, run.end, run.to_cents, run.to_cents, run.to_cents))
    return steps


def _level(steps: list[_Step], first: _Step) -> _Plot:
    longest = max(steps, key=lambda s: s.bins)
    rest = _as_run(longest)
    bins = steps[-1].end - steps[0].begin
    return _Plot("level", rest, _answer(first), rest.cents, max(s.high for s in steps), 0.0, bins)


def _answer(first: _Step) -> float:
    return first.level if first.run is None else first.run.first


def _as_run(step: _Step) -> Run:
    if step.run is not None:
        return step.run
    return Run("flat", step.begin, step.end, step.level, step.level, 1.0)


def _rise(steps: list[_Step], first: _Step, top: float, known: Callable[[Run], float]) -> _Plot | None:
    rest_step = first if first.bins and first.swing is None else None
    start = first.level
    limit = start + RELEASED_SHARE * (top - start)
    later = steps[1:]
    up = next(k for k, s in enumerate(later) if s.high >= limit)
    gone = next((k for k in range(up, len(later)) if later[k].level < limit), len(later))
    upper = [s for s in later[up:gone] if s.high >= limit] or [later[up]]
    hold, hold_bins = _hold(upper)
    if hold - start < LEAST_RISE_CENTS:
        return _level(steps, first)
    if rest_step is not None and hold - start < 2.0 * known(_as_run(rest_step)):
        return _level(steps, max(steps, key=lambda s: s.bins))  # where it began is known less well than it rose
    last = steps[-1]
    released = last.level < start + RELEASED_SHARE * (hold - start) and gone < len(later)
    arrive = upper[0].begin
    leave = first.end
    rest = None if rest_step is None else _as_run(rest_step)
    again = last.run if released and last.bins * BIN_S >= SHORTEST_S else None
    if again is not None and (rest is None or known(again) < known(rest)):
        rest = again  # the pluck has settled by then
    if released and rest is None and not any(s.bins for s in upper):
        return None  # up and down at once, from nowhere to nowhere: no hand, nothing stood
    return _Plot(
        "rise_fall" if released else "rise",
        rest,
        start,
        hold,
        max(top, hold),
        max(0, arrive - leave),
        hold_bins,
        left_bin=leave,
        mend=(hold, arrive) if first.bins else None,
    )


def _swings_from(vibrato: _Step, steps: list[_Step]) -> bool:
    """Whether a note only swings up or down from its fret, or about it: vibrato, not a bend."""
    stood = [s.level for s in steps if s.swing is None and s.bins * BIN_S >= STOOD_S]
    if stood and max(stood) - min(stood) > 2 * LEAST_RISE_CENTS:
        return False
    near = max(LEAST_RISE_CENTS, 0.3 * (vibrato.high - vibrato.low))
    return all(vibrato.low - near <= s.level <= vibrato.high + near for s in steps if s.swing is None)


def _hold(upper: list[_Step]) -> tuple[float, float]:
    """Height and length (bins) of the hold among the steps of the upper part."""
    stood = next((s for s in upper if s.swing is None and s.bins * BIN_S >= STOOD_S), None)
    vibrato = next((s for s in upper if s.swing is not None), None)
    bins = upper[-1].end - upper[0].begin
    if stood is not None:
        return stood.level, bins if vibrato is not None else stood.bins
    if vibrato is not None:
        before = [s for s in upper if s.end <= vibrato.begin and s.swing is None]
        arrived = before[-1].level if before else vibrato.level
        dips = abs(arrived - vibrato.high) < abs(arrived - vibrato.level) and bool(before)
        return (vibrato.high if dips else vibrato.level), bins
    longest = max(upper, key=lambda s: (s.bins, s.level))
    return longest.level, longest.bins


def _fall(steps: list[_Step], first: _Step) -> _Plot | None:
    if not first.bins and len(steps) > 1 and (steps[1].begin - first.begin) * BIN_S <= PLUCKED_S:
        first = steps[1]  # the pick's own noise came up to where the string stood
    if first.bins * BIN_S < PASSING_S:
        return None  # the pick's and the string's, not the hand's
    top = max(s.level for s in steps)
    bottom = min(s.level for s in steps)
    low = [s for s in steps[1:] if s.level <= bottom + RELEASED_SHARE * (top - bottom)]
    rest = next((s for s in reversed(low) if s.bins * BIN_S >= SHORTEST_S and s.run is not None), None)
    if rest is None and top - bottom < HALF_FRET_CENTS:
        return _level(steps, first)  # it let go of no fret
    mend = (low[-1].level, low[0].begin) if low else None
    return _Plot(
        "fall",
        None if rest is None else _as_run(rest),
        _answer(first),
        _answer(first),
        top,
        0.0,
        first.bins,
        mend=mend,
    )


def _ending(plot: _Plot, final: float, *, by_hand: bool) -> Ending:
    if plot.shape == "rise_fall" or (plot.shape == "fall" and plot.rest is not None):
        return "released"
    sharp = plot.shape == "rise" and final - (plot.rest.cents if plot.rest else plot.first) >= LEAST_RISE_CENTS
    if by_hand and sharp:
        return "cut_sharp"
    return "cut" if by_hand else "rang_out"
