"""Binned pitch of one note -> the likeliest sequence of stands, glides and jumps, by dynamic programming.

The columns of the programme need nothing of the future: each bin advances them as it comes, so the end of a note costs
no more than the walk back along the best path, and the same columns tell the live picture what the string does now.
A segment is fitted in closed form (weighted least squares), so its cost is exact for any length; one price a segment is
the only prior on how long anything lasts. The method is that of optimal partitioning: Jackson et al. 2005, "An
algorithm for optimal partitioning of data on an interval"; candidates are pruned as by Killick, Fearnhead and Eckley
2012 (both from memory).
"""

from __future__ import annotations

import math
from struct import Struct
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pedal.values import frozen

Floats = NDArray[np.float64]
Kind = Literal["stand", "glide", "jump"]

HALF_FRET_CENTS = 50.0
"""What lies further off belongs to another fret."""
FURTHEST_CENTS = 650.0
"""No finger bends, hammers on or slides further without a pluck: a fourth, and overshoot."""
BIN_S = 0.016 / 3
"""Two readings at 48 kHz, 1.8 to 2.1 at other rates: half of the shortest thing that a hand does (a jump)."""
STAND_BINS = 4
"""A stand lasts 21 ms at the least."""
JUMP_BINS = STAND_BINS + 1
"""A jump lasts 27 ms at the most: what the tracker's own window makes of a step, and no stand is so short."""
GLIDE_BINS = tuple(sorted({round(JUMP_BINS * 1.18**n) for n in range(18)}))
"""27 to 443 ms, a sixth apart: one that is a twelfth longer or shorter differs by a hundredth of its height; what lasts
longer is two in a row."""
PRICE = 2.0
"""Log odds that each free value of a story must earn, more than it fits by chance."""
PRICE_SEGMENT = 3 * PRICE
"""When it begins, its height, and its slope or way."""
PRICE_JUMP = JUMP_BINS * PRICE
"""Each of its bins is free."""
CORRELATED = 0.25
"""Half of a likelihood's half: neighbouring bins share half of the samples that they were measured on."""
LEAST_GLIDE_CENTS = 5.0
GLIDE_MISFIT = 0.02
"""Of its height: hands do not move along a polynomial."""
SLOPE_CENTS_A_BIN = 12.0 * BIN_S
"""How fast a stand drifts (1 sigma)."""
SETTLE_S = (0.03, 0.06, 0.12, 0.25, 0.5, 1.0)
SETTLE_CENTS = 40.0
"""How far a pluck settles (1 sigma)."""
MOST_SETTLED_CENTS = 2 * SETTLE_CENTS
SETTLED_BINS = round(0.2 / BIN_S)
"""A stand that settles is told by its height so long after the pluck, and so long after a bend has left it."""
PARTS = (0.3, 0.6)
"""A glide that was under way when it was first heard: shares of its time that had passed."""
BATCH = STAND_BINS
HALF_HEARD_BINS = BATCH * round((1.0 - PARTS[0]) * GLIDE_BINS[-1] / BATCH)
"""A glide that was under way when it was first heard is over by then; whole batches."""
CALM_SIGMAS = 3.0
"""A stand of 43 ms goes on while no bin lies further off its line than noise does."""
PRUNE = 2 * (PRICE_JUMP + PRICE)
"""The most that two joints cost: what lies further behind hardly wins."""
JOINT_CENTS = 3.0
"""How well the ends of two fits meet (1 sigma), beside the misfit of a glide."""
KINDS: tuple[Kind, ...] = ("stand", "glide", "jump")
"""In the order of the columns of the tables."""
_STAND, _GLIDE, _JUMP = range(len(KINDS))
_FAR = 1e9
_LONGEST = GLIDE_BINS[-1]
_UNTOLD = np.array([[0.0] * 7 + [_FAR] * 6 + [math.nan] * 2]).T
"""A column of the decoder's table before anything is known of it."""
_COLUMN = Struct(f"{2 + len(_UNTOLD)}d").pack


def smoothstep(u: Floats) -> Floats:
    """0 to 1 with no speed at either end."""
    u = np.clip(u, 0.0, 1.0)
    return np.asarray(u * u * (3.0 - 2.0 * u))


def _joint(step: Floats, sigma: Floats | float) -> Floats:
    """What it costs that two fits do not meet; nothing where there is nothing to meet (NaN)."""
    off = step / sigma
    most = PRICE_JUMP + PRICE  # more than a jump, which says when the step was
    return np.asarray(np.fmax(np.minimum(most, 0.5 * off * off), 0.0))


def _templates() -> Floats:
    """One row a duration, right-aligned in `_LONGEST` bins, 0 before the glide begins."""
    rows = np.zeros((len(GLIDE_BINS), _LONGEST))
    for row, n in zip(rows, GLIDE_BINS, strict=True):
        row[_LONGEST - n :] = smoothstep((np.arange(n) + 0.5) / n)
    return rows


def _fit_glides(
    d: Floats, ns: NDArray[np.int64], p: Floats, pp: Floats, py: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """(cost, height, size of it, begin) of glides over `ns` bins with the sums `d` (3, ...) of w, wy, wyy.

    `p`, `pp`, `py`: sums of w s, w s^2, wy s with the way s from 0 to 1.
    """
    w, wy, wyy = d
    w = w + _LEAST_WEIGHT
    pm = p / w
    height = (py - pm * wy) / (pp - p * pm + _LEAST_WEIGHT)
    begin = (wy - height * p) / w
    left = np.maximum(0.0, wyy - begin * wy - height * py)
    # The misfit of hands is noise on top of the readings' own: mean weight w / n.
    missed = GLIDE_MISFIT * height
    cost = CORRELATED * left / (1.0 + missed * missed * w / ns)
    size = np.abs(height)
    np.putmask(cost, (size < LEAST_GLIDE_CENTS) | (size > FURTHEST_CENTS), _FAR)
    return cost, height, size, begin


_GLIDES = np.ascontiguousarray(_templates().T)
_BOTH = np.hstack([_GLIDES, _GLIDES**2])
_NS = np.array(GLIDE_BINS)
_TAUS = np.array(SETTLE_S) / BIN_S
_SLOPE_PRIOR = 0.5 / CORRELATED / SLOPE_CENTS_A_BIN**2
_SETTLE_PRIOR = 0.5 / CORRELATED / SETTLE_CENTS**2
_LEAST_WEIGHT = 1e-9


def _half_heard() -> Floats:
    """For each share that had passed: one row a number of bins heard, left-aligned, 0 after the glide ends."""
    at, bins = np.arange(_LONGEST) + 0.5, np.arange(_LONGEST + 1)[:, None]
    heard = at < bins
    return np.array([smoothstep(part + (1 - part) * at / np.maximum(1, bins)) * heard for part in PARTS])


_HALF_HEARD = _half_heard()
_PASSED = tuple(part * part * (3.0 - 2.0 * part) for part in PARTS)


@frozen
class Segment:
    """Bins `begin` to `end` (open) of one kind; cents where it begins and ends, and how well its mean is known.

    first_cents : of a stand that settles, where it stood when the pluck was over; its other heights lie later.
    """

    kind: Kind
    begin: int
    end: int
    from_cents: float
    to_cents: float
    mean_cents: float
    sigma_cents: float
    first_cents: float | None = None

    @property
    def height(self) -> float:
        """Cents from its beginning to its end, falling negative."""
        return self.to_cents - self.from_cents


class Decoder:
    """`.push(cents, weight)` takes a bin (weight 0 where nothing was heard); `.path(end)` is the best story so far.

    Columns are worked out `BATCH` bins at a time: no stand or glide is so short that one could begin in a batch and end
    in it, so all its bins need only what was known before, and one call of numpy serves them all.
    """

    def __init__(self) -> None:
        room = _LONGEST  # it doubles as needed
        self.n = 0
        """Bins that are worked out; up to `BATCH` - 1 more may wait."""
        self._waiting: list[tuple[float, float]] = []
        # All tables have a row a quantity and a column a bin: a row is looked up in one piece.
        self._table = _UNTOLD.repeat(room + 1, axis=1)  # column k: after k bins
        self._wy = np.zeros((2, room + _LONGEST))  # w, wy of each bin, after a glide's length of nothing
        self._gone = np.zeros((2, room + 1))  # where the best glide that ends there began, and where it arrived
        self._name_rows()
        # A note begins with a stand, unless the hand was quicker than the ear: when and from where is told by nothing.
        self._enter[:, 0] = (PRICE_SEGMENT, PRICE_SEGMENT + 2 * PRICE, _FAR)
        self._back = [[0] * (room + 1) for _ in KINDS]
        self._form = [[0] * (room + 1) for _ in (_STAND, _GLIDE)]
        self._starts = np.zeros(1, np.int64)
        self._settle, self._settle_n = np.zeros((len(SETTLE_S), 3)), 0
        self._line: tuple[float, float] | None = None

    def _name_rows(self) -> None:
        table = self._table
        self._sums, self._y = table[:6], table[6]  # of w, wy, wyy, wt, wtt, wty; the bin itself
        self._best, self._enter = table[7:10], table[10:13]
        self._top = table[13:]  # where what a stand, or a glide, follows on ended

    def _grow(self) -> None:
        more = len(self._y)
        self._table = np.concatenate([self._table, _UNTOLD.repeat(more, axis=1)], axis=1)
        self._name_rows()
        self._wy, self._gone = (np.concatenate([rows, np.zeros((2, more))], axis=1) for rows in (self._wy, self._gone))
        for each in (*self._back, *self._form):
            each += [0] * more

    def push(self, cents: float, weight: float) -> bool:
        """One bin more; whether the columns went on."""
        self._waiting.append((cents, weight))
        if len(self._waiting) < BATCH:
            return False
        self.flush()
        return True

    def flush(self) -> None:
        """Work out what waits."""
        count = len(self._waiting)
        if not count:
            return
        k = self.n
        if k + count >= len(self._y):
            self._grow()
        new, self._waiting = self._waiting, []
        if self._goes_on(k, new):
            return
        y, w = np.array(new).T
        t = np.arange(k, k + count, dtype=np.float64)
        wy, wt = w * y, w * t
        each = np.array([w, wy, wy * y, wt, wt * t, wt * y])
        self._y[k + 1 : k + count + 1] = y
        self._sums[:, k + 1 : k + count + 1] = self._sums[:, k, np.newaxis] + each.cumsum(axis=1)
        self._wy[:, k + _LONGEST : k + count + _LONGEST] = each[:2]
        ends = np.arange(k + 1, k + count + 1)
        self.n = k + count
        stood, went = self._stand(ends, k + 1), self._glide(ends, k + 1)
        self._link(k, count, stood, went)
        self._line = self._line_of(stood[-1])

    def _line_of(self, height: float) -> tuple[float, float] | None:
        """(height, slope a bin) of the stand that the string is on, if it has been there for a while."""
        k = self.n
        best, begin = self._best[:, k].tolist(), self._back[_STAND][k]
        if best[_STAND] > min(best) or k - begin < 2 * STAND_BINS:  # in less another may have begun and stood
            return None
        if self._form[_STAND][k]:  # what still settles lies on no line through its beginning
            return height, 0.0
        w, wy, _, wt, wtt, wty = (self._sums[:, k] - self._sums[:, begin]).tolist()
        w += _LEAST_WEIGHT
        return height, (wty - wt * wy / w) / (wtt - wt * wt / w + _SLOPE_PRIOR)

    def _goes_on(self, k: int, new: list[tuple[float, float]]) -> bool:
        """Whether the string just stands on: then no glide or jump can end here, and only the stand is counted on."""
        if self._line is None or len(new) < BATCH:
            return False
        height, slope = self._line
        end = height + slope * BATCH
        w0, wy0, wyy0, wt0, wtt0, wty0, _, cost, *_ = self._table[:, k].tolist()
        known = bytearray()  # as it lies in the table: making one of a list costs more
        for number, (y, w) in enumerate(new):
            off = y - height - slope * (number + 1)
            if w * off * off > CALM_SIGMAS**2:
                return False
            t, wy = k + number, w * y
            wt = w * t
            w0, wy0, wyy0, wt0, wtt0, wty0 = w0 + w, wy0 + wy, wyy0 + wy * y, wt0 + wt, wtt0 + wt * t, wty0 + wt * y
            cost += CORRELATED * w * off * off
            known += _COLUMN(  # no other kind ends here; a glide, or a jump, may begin
                w, wy, w0, wy0, wyy0, wt0, wtt0, wty0, y, cost, _FAR, _FAR,
                _FAR, cost + PRICE_SEGMENT, cost + PRICE_JUMP, math.nan, end,
            )  # fmt: skip
        columns = np.frombuffer(known).reshape(BATCH, -1).T
        rows = slice(k + 1, k + 1 + BATCH)
        self._wy[:, k + _LONGEST : k + _LONGEST + BATCH], self._table[:, rows] = columns[:2], columns[2:]
        self._back[_STAND][rows] = [self._back[_STAND][k]] * BATCH
        self._form[_STAND][rows] = [self._form[_STAND][k]] * BATCH
        self.n, self._line = k + BATCH, (end, slope)
        return True

    def _link(self, k: int, count: int, stood: list[float], went: list[float]) -> None:
        """Jumps, and what it costs to enter a segment after each of the new bins."""
        enter_jump = self._enter[_JUMP, max(0, k + 1 - JUMP_BINS) : k + 1].tolist()
        stands, glides = self._best[:_JUMP, k + 1 : k + count + 1].tolist()
        enter, top, jumps, backs = [], [], [], []
        for number, (s, g) in enumerate(zip(stands, glides, strict=True)):
            recent = enter_jump[-JUMP_BINS:]
            j = min(recent)
            jumps.append(j)
            backs.append(k + 1 + number - len(recent) + recent.index(j))
            enter_jump.append(min(s, g) + PRICE_JUMP)
            enter.append((min(g, j) + PRICE_SEGMENT, min(s, g, j) + PRICE_SEGMENT, enter_jump[-1]))
            after_glide = went[number] if g < j else np.nan
            top.append((after_glide, stood[number] if s <= min(g, j) else after_glide))
        rows = slice(k + 1, k + count + 1)
        self._best[_JUMP, rows], self._back[_JUMP][rows] = jumps, backs
        self._enter[:, rows], self._top[:, rows] = np.array(enter).T, np.array(top).T
        self._starts = np.concatenate([self._starts, np.arange(k + 1, k + count + 1)])

    def _stand(self, ends: NDArray[np.int64], first: int) -> list[float]:
        """The best stand that ends at each of `ends`, from `first` on; returns where it stands then."""
        count = len(ends)
        last = first + count - 1
        ready = self._starts[: int(self._starts.searchsorted(last - STAND_BINS, "right"))]
        if not len(ready):
            return [math.nan] * count
        rows = slice(first, last + 1)
        w, wy, wyy, wt, wtt, wty = self._sums[:, rows, np.newaxis] - self._sums.take(ready, 1)[:, np.newaxis]
        w += _LEAST_WEIGHT
        mean, mid = wy / w, wt / w
        both = wty - wt * mean
        slope = both / (wtt - wt * mid + _SLOPE_PRIOR)
        left = wyy - wy * mean - both * slope
        joint = _joint(mean + slope * (ready - mid) - self._top[_STAND].take(ready), JOINT_CENTS)
        cost = self._enter[_STAND].take(ready) + CORRELATED * np.maximum(left, 0.0) + joint
        if ready[-1] > first - STAND_BINS:
            np.putmask(cost, ends[:, np.newaxis] - STAND_BINS < ready, _FAR)
        best, backs, height = [], [], []
        for number, at in enumerate(cost.argmin(axis=1).tolist()):
            best.append(cost.item(number, at))
            backs.append(int(ready[at]))
            height.append(mean.item(number, at) + slope.item(number, at) * (first + number - mid.item(number, at)))
        self._best[_STAND, rows], self._back[_STAND][rows] = best, backs
        keep = cost[-1] < best[-1] + PRUNE
        if ready[0] == 0:  # the first bin stays while a stand that settles may begin there
            keep[0] |= self._settled(ends, height) < best[-1] + PRUNE
        self._starts = np.concatenate([ready[keep], self._starts[len(ready) :]])
        return height

    def _settle_on(self, count: int) -> Floats:
        """Sums of w e, w e^2, wy e for each way of settling, shape (bins, ways, 3), of the last `count` bins."""
        t = np.arange(self._settle_n, self.n)
        w, wy = self._wy[:, t + _LONGEST]
        e = np.exp(-t[:, None] / _TAUS)
        we = w[:, None] * e
        sums: Floats = self._settle + np.array([we, we * e, wy[:, None] * e]).transpose(1, 2, 0).cumsum(axis=0)
        self._settle, self._settle_n = sums[-1], self.n
        return sums[-count:]

    def _settled(self, ends: NDArray[np.int64], height: list[float]) -> float:
        """A stand from the first bin on that settles, where that tells the bins better; its cost at the last bin."""
        rows = slice(int(ends[0]), int(ends[-1]) + 1)
        sums = self._settle_on(len(ends))
        w, wy, wyy = self._sums[:3, rows, np.newaxis] + _LEAST_WEIGHT
        e, ee, ye = sums.transpose(2, 0, 1)
        both, across = ye - e * wy / w, ee - e * e / w + _SETTLE_PRIOR
        amount = np.clip(both / across, 0.0, MOST_SETTLED_CENTS)
        left = wyy - wy * wy / w - amount * (2.0 * both - amount * across)
        form = left.argmin(axis=1)
        each = np.arange(len(ends))
        cost = PRICE_SEGMENT + PRICE + CORRELATED * np.maximum(left[each, form], 0.0)
        for number in np.flatnonzero((cost < self._best[_STAND, rows]) & (ends >= STAND_BINS)).tolist():
            k, way = int(ends[number]), int(form[number])
            self._best[_STAND, k], self._back[_STAND][k], self._form[_STAND][k] = cost[number], 0, way + 1
            height[number] = float((wy[number, 0] - amount[number, way] * e[number, way]) / w[number, 0])
        return float(cost[-1])

    def _glide(self, ends: NDArray[np.int64], first: int) -> list[float]:
        """The best glide that ends at each of `ends`, from `first` on; returns where it arrives."""
        count = len(ends)
        last = first + count - 1
        if last < GLIDE_BINS[0]:
            return [math.nan] * count
        rows = slice(first, last + 1)
        w, wy = self._windows(first, count)
        ways = len(_NS)
        p, py = w @ _BOTH, wy @ _GLIDES  # (bins, glides and their squares), (bins, glides)
        begins = known = ends[:, np.newaxis] - _NS
        unheard = begins < 0 if first < _LONGEST else None
        if unheard is not None:
            known = np.maximum(begins, 0)
        d = self._sums[:3, rows, np.newaxis] - self._sums[:3].take(known, 1)
        cost, height, size, begin = _fit_glides(d, _NS, p[:, :ways], p[:, ways:], py)
        joint = _joint(begin - self._top[1].take(known), JOINT_CENTS + GLIDE_MISFIT * size)
        cost = cost + self._enter[_GLIDE].take(known) + joint
        if unheard is not None:
            np.putmask(cost, unheard, _FAR)
        best, backs, left, arrived = [], [], [], []
        for number, at in enumerate(cost.argmin(axis=1).tolist()):
            best.append(cost.item(number, at))
            backs.append(first + number - GLIDE_BINS[at])
            left.append(begin.item(number, at))
            arrived.append(left[-1] + height.item(number, at))
        self._best[_GLIDE, rows], self._back[_GLIDE][rows] = best, backs
        if last <= HALF_HEARD_BINS:  # begun before it was heard
            self._half_heard(ends, left, arrived)
        self._gone[:, rows] = left, arrived
        return arrived

    def _windows(self, first: int, count: int) -> Floats:
        """Each w and wy of a glide's length of bins before each of `count` ends, shape (2, count, bins)."""
        row, each = self._wy.strides
        shape, at = (2, count, _LONGEST), first * each
        return np.ndarray(shape, np.float64, self._wy, at, (row, each, each)).copy()

    def _half_heard(self, ends: NDArray[np.int64], left: list[float], arrived: list[float]) -> None:
        """A glide from the first bin on that was under way by then, where that tells the bins better."""
        count, last = len(ends), int(ends[-1])
        s = _HALF_HEARD[:, ends, :last]
        heard = self._wy[:, _LONGEST : _LONGEST + last]
        p, py = heard @ s.reshape(-1, last).T
        p, py = p.reshape(-1, count), py.reshape(-1, count)
        cost, height, _, begin = _fit_glides(self._sums[:3, np.newaxis, ends], ends, p, (s * s) @ heard[0], py)
        total = cost + PRICE_SEGMENT + 2 * PRICE  # when it began, and from where, is told by nothing
        best = self._best[_GLIDE, ends]
        if not (total < best).any():
            return
        for form in range(len(PARTS)):
            for number in np.flatnonzero(total[form] < self._best[_GLIDE, ends]).tolist():
                k, h = int(ends[number]), height.item(form, number)
                self._best[_GLIDE, k], self._back[_GLIDE][k], self._form[_GLIDE][k] = total[form, number], 0, form + 1
                arrived[number] = begin.item(form, number) + h
                left[number] = begin.item(form, number) + h * _PASSED[form]

    def now(self) -> tuple[Kind, int, float]:
        """What the string seems to do at the last bin: kind of the segment, the bin it began with, its height there."""
        k = self.n
        best = self._best[:, k].tolist()
        kind = best.index(min(best))
        begin = self._back[kind][k]
        if kind == _STAND:
            w, wy = (self._sums[:2, k] - self._sums[:2, begin]).tolist()
            return "stand", begin, wy / (w + _LEAST_WEIGHT)
        heard = k
        while heard > begin + 1 and self._sums[0, heard] == self._sums[0, heard - 1]:  # an empty bin has no height
            heard -= 1
        return KINDS[kind], begin, float(self._y[heard])

    def path(self, end: int | None = None) -> list[Segment]:
        """The best sequence of segments of the first `end` bins (all of them)."""
        self.flush()
        k = self.n if end is None else min(end, self.n)
        kind = int(self._best[:, k].argmin())
        found: list[Segment] = []
        while k > 0 and self._best[kind, k] < _FAR:
            i = self._back[kind][k]
            found.append(self._segment(kind, i, k))
            if i == 0:
                break
            allowed = {_STAND: (_GLIDE, _JUMP), _GLIDE: (_STAND, _GLIDE, _JUMP), _JUMP: (_STAND, _GLIDE)}[kind]
            kind = min(allowed, key=lambda a: self._best[a, i])
            k = i
        return found[::-1]

    def _settled_stand(self, k: int) -> Segment:
        """The stand of the first `k` bins that settles, each way of settling by its own likelihood.

        How far it would settle yet is a guess where it has not done so: the height is told of moments near to what was
        heard, and how well it is known says how far the ways differ.
        """
        w, wy = self._wy[:, _LONGEST : _LONGEST + k]
        e = np.exp(-np.arange(k) / _TAUS[:, np.newaxis])
        sum_w, sum_wy, we = float(w.sum()) + _LEAST_WEIGHT, float(wy.sum()), e @ w
        across = (e * e) @ w - we * we / sum_w + _SETTLE_PRIOR
        both = e @ wy - we * sum_wy / sum_w
        amount = np.clip(both / across, 0.0, MOST_SETTLED_CENTS)
        gain = amount * (2.0 * both - amount * across)
        odds = np.exp(CORRELATED * (gain - gain.max())) / np.sqrt(across)
        odds /= odds.sum()

        def at(t: float) -> tuple[float, float]:
            """Height `t` bins after the first, and its variance."""
            off = np.exp(-t / _TAUS) - we / sum_w
            height = sum_wy / sum_w + amount * off
            mean = float(odds @ height)
            own = (1.0 / sum_w + off * off / across) / (2.0 * CORRELATED)
            return mean, float(odds @ (own + (height - mean) ** 2))

        first, _ = at(min(SETTLED_BINS, k))
        later, variance = at(k + SETTLED_BINS)
        return Segment("stand", 0, k, later, later, later, variance**0.5, first)

    def _segment(self, kind: int, i: int, k: int) -> Segment:
        w, wy, _, wt, wtt, wty = (self._sums[:, k] - self._sums[:, i]).tolist()
        w += _LEAST_WEIGHT
        mean = wy / w
        sigma = (2 * CORRELATED * w) ** -0.5
        if kind == _JUMP:
            return Segment("jump", i, k, float(self._y[i + 1]), float(self._y[k]), mean, sigma)
        if kind == _STAND:
            if self._form[_STAND][k]:
                return self._settled_stand(k)
            slope = (wty - wt * mean) / (wtt - wt * wt / w + _SLOPE_PRIOR)
            return Segment("stand", i, k, mean + slope * (i - wt / w), mean + slope * (k - 1 - wt / w), mean, sigma)
        begin, arrived = self._gone[:, k].tolist()
        height = abs(arrived - begin)
        if i > 0 and height > HALF_FRET_CENTS:
            heard = self._y[i + 1 : k + 1][self._wy[0, i + _LONGEST : k + _LONGEST] > 0.0]
            if height - float(np.ptp(heard)) > HALF_FRET_CENTS:  # the fit tells what nobody played
                return Segment("jump", i, k, float(self._y[i + 1]), float(self._y[k]), mean, sigma)
        return Segment("glide", i, k, begin, arrived, mean, sigma)
