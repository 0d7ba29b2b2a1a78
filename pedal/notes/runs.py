"""The best path of a note -> its runs: where it stood, moved up or down, and where it swung (vibrato)."""

from __future__ import annotations

from typing import Literal

from pedal.notes.decoder import BIN_S, FURTHEST_CENTS, HALF_FRET_CENTS, MOST_SETTLED_CENTS, Segment
from pedal.values import frozen

Move = Literal["flat", "up", "down"]

LEAST_RISE_CENTS = 8.0
"""Below this a rise cannot be told from fretting scatter, a pluck's settling and the just-noticeable difference."""
LEAST_FALL_CENTS = 2 * LEAST_RISE_CENTS
"""A string comes down by less after a pluck, or creeps up by less, by itself."""
CREEP_SPEED = 40.0
"""Two ways in which a string swings beat against each other: its pitch creeps up slower than that (cents a second)."""
PASSING_S = 0.060
"""A shorter stand between two moves in one direction is a step on the way."""
STOOD_S = 2 * PASSING_S
"""A bend that stood so long counts by it, whatever vibrato follows."""
NEAR_FRET_CENTS = 0.5 * HALF_FRET_CENTS
LEAST_JUMP_CENTS = 100.0 - NEAR_FRET_CENTS
"""A finger that falls on another fret, or leaves one, moves the pitch by a semitone, less what it was bent."""
SHORTEST_S = 0.045
"""A hand does nothing quicker: no stroke, and no tone of its own. Less does not show whether a pitch stands. Of a low
string, which is heard some 40 ms late, 85 ms are enough."""
LONG_S = 0.3
"""A stroke of vibrato is no slower: what stands longer stands, and a pitch that stays away longer is lost for good."""
LEAST_SWINGS = 4
ALIKE = 2.6


@frozen
class Run:
    """Bins `begin` to `end` (open); cents where it begins and ends, and how well a flat one is known (1 sigma).

    first_cents : of a flat one that settles, where it stood when the pluck was over.
    """

    move: Move
    begin: int
    end: int
    from_cents: float
    to_cents: float
    sigma_cents: float = 0.0
    jump: bool = False
    first_cents: float | None = None

    @property
    def cents(self) -> float:
        """Level of a flat run."""
        return 0.5 * (self.from_cents + self.to_cents)

    @property
    def first(self) -> float:
        """The pitch that answers for a flat run: its level, or of one that settles where it stood first."""
        return self.cents if self.first_cents is None else self.first_cents

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return (self.end - self.begin) * BIN_S

    @property
    def height(self) -> float:
        """Cents from its beginning to its end, falling negative."""
        return self.to_cents - self.from_cents


@frozen
class Swing:
    """Vibrato over bins `begin` to `end` (open), between `low` and `high` cents."""

    begin: int
    end: int
    low: float
    high: float

    @property
    def middle(self) -> float:
        """Cents half way between its edges: the pitch that is heard of it."""
        return 0.5 * (self.low + self.high)


Swinging = tuple[Swing, int, int] | None
"""Vibrato, and the runs (from, to) that it takes up."""


def find_runs(path: list[Segment]) -> list[Run]:
    """Neighbouring segments that go the same way and meet joined; flat where less than `LEAST_RISE_CENTS` is moved.

    Between those that do not meet, and between any that lie further apart than a finger gets, there is a step.
    """
    runs: list[Run] = []
    for number, segment in enumerate(path):
        run = _run(segment) if segment.kind != "jump" else _jump(path, number)
        if number == 0:
            run = settled(run)
        if runs and not (runs[-1].jump or run.jump):
            alike, apart = run.move == runs[-1].move, abs(run.from_cents - runs[-1].to_cents)
            least = FURTHEST_CENTS if not alike else LEAST_RISE_CENTS if run.move == "flat" else LEAST_JUMP_CENTS
            if apart >= least:
                runs.append(step_between(runs[-1], run))
            elif alike:
                run = joined(runs.pop(), run)
        runs.append(run)
    return runs


def of_a_hand(runs: list[Run]) -> list[Run]:
    """The runs less what no hand does to a string: up and down faster than it can, and all after it went astray.

    A room, a damped string, or the hand that damps it are heard so.
    """
    return _before_going_astray(_without_flicks(runs))


def _without_flicks(runs: list[Run]) -> list[Run]:
    """Up and down again (or down and up) faster than a hand, between stands at one height: one stand."""
    made: list[Run] = []
    for run in runs:
        made.append(run)
        if len(made) < 4:
            continue
        before, there, back, after = made[-4:]
        quick = all(r.move != "flat" and r.seconds <= SHORTEST_S for r in (there, back)) and there.move != back.move
        if quick and before.move == after.move == "flat" and abs(before.to_cents - after.from_cents) < LEAST_RISE_CENTS:
            made[-4:] = [joined(before, after)]
    return made


def _before_going_astray(runs: list[Run]) -> list[Run]:
    """The runs up to three strokes in a row too quick for a hand, or a leap of less than a fret that leads nowhere."""
    row = 0
    for number, run in enumerate(runs):
        quick = run.move != "flat" and run.seconds <= SHORTEST_S
        row = row + 1 if quick and (row == 0 or runs[number - 1].move not in ("flat", run.move)) else int(quick)
        if row == 3:
            return runs[: number - 2]
        leapt = run.jump and abs(run.height) < LEAST_JUMP_CENTS and number > 0 and runs[number - 1].seconds >= LONG_S
        astray = leapt and (runs[-1].end - run.begin) * BIN_S < LONG_S
        if astray and not any(r.move == "flat" and r.seconds >= PASSING_S for r in runs[number + 1 :]):
            return runs[:number]
    return runs


def gone_on(runs: list[Run], broke: int) -> list[Run]:
    """The runs up to the stand that a move came to which was under way when the level broke; none if there is none.

    A hand that damps moves the pitch as well, but only from then on, and it comes to no stand.
    """
    number = next((n for n in reversed(range(len(runs) - 1)) if runs[n].move != "flat" and runs[n].begin < broke), None)
    if number is None:
        return []
    run, after = runs[number], runs[number + 1]
    hand = not run.jump and (broke - run.begin) * BIN_S >= 0.5 * PASSING_S
    return runs[: number + 2] if hand and after.move == "flat" and after.seconds >= PASSING_S else []


def without_last_touch(runs: list[Run]) -> list[Run]:
    """The runs of a tone less a brief rise at the end of a stand: the hand about to damp the string, or to pull off."""
    if len(runs) < 2 or runs[-1].move != "up" or runs[-2].move != "flat":
        return runs
    return runs[:-1] if runs[-2].seconds >= STOOD_S and runs[-1].seconds < PASSING_S else runs


def settled(run: Run) -> Run:
    """A note that begins by coming down a little, or creeping up, was plucked so: it stands where it comes to."""
    plucked = run.move == "down" and -run.height <= MOST_SETTLED_CENTS
    if not plucked and not (run.move == "up" and not run.jump and creeps(run.height, run.seconds)):
        return run
    return Run("flat", run.begin, run.end, run.to_cents, run.to_cents, max(1.0, run.sigma_cents))


def creeps(height: float, seconds: float) -> bool:
    """Whether a rise (cents) is so small and so slow that a string does it by itself."""
    return height < min(LEAST_FALL_CENTS, CREEP_SPEED * seconds)


def step_between(before: Run, after: Run) -> Run:
    """The step between two runs that meet at different heights: a jump of no length."""
    move: Move = "up" if after.from_cents > before.to_cents else "down"
    return Run(move, after.begin, after.begin, before.to_cents, after.from_cents, jump=True)


def _jump(path: list[Segment], number: int) -> Run:
    """A jump goes from the end of the segment before it to the beginning of the one after it."""
    segment = path[number]
    begin = path[number - 1].to_cents if number else segment.from_cents
    end = path[number + 1].from_cents if number + 1 < len(path) else segment.to_cents
    if abs(end - begin) < LEAST_RISE_CENTS:
        return Run("flat", segment.begin, segment.end, end, end, 10.0)
    return Run("up" if end > begin else "down", segment.begin, segment.end, begin, end, segment.sigma_cents, jump=True)


def _run(segment: Segment) -> Run:
    if segment.kind == "stand" and segment.first_cents is None and segment.height >= LEAST_FALL_CENTS:
        # A hand that takes its time: as straight as a stand that drifts, and longer than any other glide.
        return Run("up", segment.begin, segment.end, segment.from_cents, segment.to_cents, segment.sigma_cents)
    if segment.kind == "stand" or abs(segment.height) < LEAST_RISE_CENTS:
        ends = (segment.mean_cents,) * 2 if segment.kind == "glide" else (segment.from_cents, segment.to_cents)
        sigma = segment.sigma_cents + (0.5 * abs(segment.height) if segment.kind == "glide" else 0.0)
        return Run("flat", segment.begin, segment.end, *ends, sigma, first_cents=segment.first_cents)
    move: Move = "up" if segment.height > 0 else "down"
    return Run(move, segment.begin, segment.end, segment.from_cents, segment.to_cents, segment.sigma_cents)


def joined(a: Run, b: Run) -> Run:
    """Two runs that go the same way as one; a level is that of both, each by how well it is known."""
    if a.move != "flat":
        return Run(a.move, a.begin, b.end, a.from_cents, b.to_cents, a.sigma_cents)
    pa, pb = a.sigma_cents**-2, b.sigma_cents**-2
    level = (a.cents * pa + b.cents * pb) / (pa + pb)
    return Run("flat", a.begin, b.end, level, level, (pa + pb) ** -0.5, first_cents=a.first_cents)


def find_swing(runs: list[Run]) -> Swinging:
    """The longest row of alternating, like moves, and the runs (from, to) that it takes up; None if too few."""
    best: tuple[int, int] | None = None
    for start in range(len(runs)):
        if best is not None and runs[-1].end - runs[start].begin <= _bins(runs, best):
            break  # none that begins later can be longer
        end = _row(runs, start)
        if end is not None and (best is None or runs[end - 1].end - runs[start].begin > _bins(runs, best)):
            best = (start, end)
    if best is None:
        return None
    first, last = best
    row = runs[first:last]
    moves = [r for r in row if r.move != "flat"]
    ups = sorted(max(r.from_cents, r.to_cents) for r in moves)
    downs = sorted(min(r.from_cents, r.to_cents) for r in moves)
    return Swing(row[0].begin, row[-1].end, downs[len(downs) // 2], ups[len(ups) // 2]), first, last


def _bins(runs: list[Run], span: tuple[int, int]) -> int:
    return runs[span[1] - 1].end - runs[span[0]].begin


def _row(runs: list[Run], start: int) -> int | None:
    """Where the row of swings that begins at `start` ends (open), None if it is too short."""
    if runs[start].move == "flat":
        return None
    sizes: list[float] = []
    k, last, end = start, None, start
    while k < len(runs):
        run = runs[k]
        if run.move == "flat":
            if run.seconds > SHORTEST_S * 1.5:
                break
            k += 1
            continue
        size = abs(run.height)
        if run.move == last or not SHORTEST_S * 0.6 <= run.seconds <= LONG_S or run.jump:
            break
        if sizes and not 1 / ALIKE < size / sorted(sizes)[len(sizes) // 2] < ALIKE:
            break
        sizes.append(size)
        last = run.move
        k += 1
        end = k
    return end if len(sizes) >= LEAST_SWINGS else None


def first_heard(runs: list[Run]) -> list[Run]:
    """The runs from the first that is no jump: nothing was heard before it."""
    first = next((k for k, run in enumerate(runs) if not run.jump), len(runs))
    return runs[first:]
