"""The runs of one tone -> what happened in it: rest, first pitch, hold, peak, and how it ended."""

from __future__ import annotations

from collections.abc import Callable

from pedal.notes.decoder import BIN_S, HALF_FRET_CENTS
from pedal.notes.note import Ending, Shape
from pedal.notes.pluck import PLUCKED_S
from pedal.notes.runs import LEAST_FALL_CENTS, LEAST_RISE_CENTS, PASSING_S, SHORTEST_S, STOOD_S, Run, Swing, Swinging
from pedal.values import frozen


@frozen
class Plot:
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


def plot_tone(runs: list[Run], swing: Swinging, known: Callable[[Run], float]) -> Plot | None:
    """Rest, first pitch, hold and peak of one tone."""
    steps = _steps(runs, swing)
    first = steps[0]
    start = first.level
    top, bottom = max(s.high for s in steps), min(s.low for s in steps)
    moved_up, moved_down = top - start, start - bottom
    vibrato = next((s for s in steps if s.swing is not None), None)
    if vibrato is not None and _swings_from(vibrato, steps):
        stand = first if first.bins else vibrato
        return Plot(
            "level", _as_run(stand), stand.level, stand.level, vibrato.high, 0.0, steps[-1].end - steps[0].begin
        )
    if first.swing is not None and all(first.low <= s.level <= first.high for s in steps):
        return _level(steps, first)  # it swings, and comes to stand within what it swung over
    if moved_down >= LEAST_FALL_CENTS and moved_down > moved_up:
        fall = _fall(steps, first)
        rose = first.bins and first.swing is None and moved_up >= LEAST_RISE_CENTS
        if not rose or fall is None or fall.shape != "fall" or fall.rest is not None:
            return fall
        # It came down past where it began, and to no rest: a bend that the hand let slide off, and no pre-bend.
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


def _level(steps: list[_Step], first: _Step) -> Plot:
    longest = max(steps, key=lambda s: s.bins)
    rest = _as_run(longest)
    bins = steps[-1].end - steps[0].begin
    return Plot("level", rest, _answer(first), rest.cents, max(s.high for s in steps), 0.0, bins)


def _answer(first: _Step) -> float:
    return first.level if first.run is None else first.run.first


def _as_run(step: _Step) -> Run:
    if step.run is not None:
        return step.run
    return Run("flat", step.begin, step.end, step.level, step.level, 1.0)


def _rise(steps: list[_Step], first: _Step, top: float, known: Callable[[Run], float]) -> Plot | None:
    rest_step = first if first.bins and first.swing is None else None
    start = first.level
    limit = 0.5 * (start + top)  # half of the way is up, and half of it is down again
    later = steps[1:]
    up = next((k for k, s in enumerate(later) if s.high >= limit), None)
    if up is None:
        return _level(steps, first)  # the top is that of the vibrato that it began with
    gone = next((k for k in range(up, len(later)) if later[k].level < limit), len(later))
    upper = [s for s in later[up:gone] if s.high >= limit] or [later[up]]
    hold, hold_bins = _hold(upper)
    if hold - start < LEAST_RISE_CENTS:
        return _level(steps, first)
    if rest_step is not None and hold - start < 2.0 * known(_as_run(rest_step)):
        return _level(steps, max(steps, key=lambda s: s.bins))  # where it began is known less well than it rose
    last = steps[-1]
    released = last.level < 0.5 * (start + hold) and gone < len(later)
    arrive = upper[0].begin
    leave = first.end
    rest = None if rest_step is None else _as_run(rest_step)
    again = last.run if released and last.bins * BIN_S >= SHORTEST_S else None
    if again is not None and (rest is None or _tells_the_fret_better(again, rest, known)):
        rest = again
    if released and rest is None and not any(s.bins for s in upper):
        return None  # up and down at once, from nowhere to nowhere: no hand, nothing stood
    return Plot(
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


def _tells_the_fret_better(again: Run, rest: Run, known: Callable[[Run], float]) -> bool:
    """Whether where a bend came down to says more of its fret than where it began: the pluck has settled by then.

    No string sounds below its fret: what is higher than the beginning is a stand half-way down.
    """
    return again.cents < rest.cents + LEAST_RISE_CENTS and known(again) < known(rest)


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


def _fall(steps: list[_Step], first: _Step) -> Plot | None:
    if not first.bins and len(steps) > 1 and (steps[1].begin - first.begin) * BIN_S <= PLUCKED_S:
        first = steps[1]  # the pick's own noise came up to where the string stood
    if first.bins * BIN_S < PASSING_S:
        return None  # the pick's and the string's, not the hand's
    top = max(s.level for s in steps)
    bottom = min(s.level for s in steps)
    low = [s for s in steps[1:] if s.level <= 0.5 * (bottom + top)]
    rest = next((s for s in reversed(low) if s.bins * BIN_S >= SHORTEST_S and s.run is not None), None)
    if rest is None and top - bottom < HALF_FRET_CENTS:
        return _level(steps, first)  # it let go of no fret
    mend = (low[-1].level, low[0].begin) if low else None
    return Plot(
        "fall",
        None if rest is None else _as_run(rest),
        _answer(first),
        _answer(first),
        top,
        0.0,
        first.bins,
        mend=mend,
    )


def ending_of(plot: Plot, final: float, *, by_hand: bool) -> Ending:
    """How a tone ended whose last pitch was `final`; `by_hand`: it was stopped."""
    if plot.shape == "rise_fall" or (plot.shape == "fall" and plot.rest is not None):
        return "released"
    sharp = plot.shape == "rise" and final - (plot.rest.cents if plot.rest else plot.first) >= LEAST_RISE_CENTS
    if by_hand and sharp:
        return "cut_sharp"
    return "cut" if by_hand else "rang_out"
