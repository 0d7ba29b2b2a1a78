"""The decoder's costs, written down once more: least squares for each pair of bins, no batch, no pruning, no calm.

A referee for small notes. It shares the prices and widths with the decoder and nothing else: every segment is fitted on
its own bins.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from pedal.notes import decoder as d

FAR = 1e9


@cache
def ones_and_times(n):
    return np.ones(n), np.arange(n)


@cache
def share_of_way(n, part=0.0):
    """How far a glide of `n` bins, of which the first `part` was not heard, has come in each."""
    return step(part + (1 - part) * (np.arange(n) + 0.5) / n)


def step(u):
    u = np.clip(u, 0.0, 1.0)
    return u**2 * (3 - 2 * u)


def squares(y, w, columns, priors):
    """(weighted sum of squares and priors, weights of the columns) of the best fit; a prior is a 1-sigma, or None.

    Sums are in the decoder's unit: twice a likelihood's half, over `CORRELATED`. The normal equations of a fit are
    solved outright, which costs a fifth of `numpy.linalg.lstsq`; where too little was heard for them, that is asked.
    """
    a = np.array([*columns, y])
    sums = ((a * w) @ a.T).tolist()
    ridge = [0.0 if sigma is None else 0.5 / d.CORRELATED / sigma**2 for sigma in priors]
    if len(columns) == 1:
        (p, u), (_, all_of_y) = sums
        p += ridge[0]
        if p <= 0.0:
            return _by_lstsq(y, w, columns, ridge)
        return all_of_y - u * u / p, (u / p,)
    (p, q, u), (_, r, v), (_, _, all_of_y) = sums
    p, r = p + ridge[0], r + ridge[1]
    singular = p * r - q * q
    if singular <= 1e-9 * p * r:
        return _by_lstsq(y, w, columns, ridge)
    one, other = (r * u - q * v) / singular, (p * v - q * u) / singular
    return all_of_y - one * u - other * v, (one, other)


def _by_lstsq(y, w, columns, ridge):
    """The same, each prior as a row of its own."""
    root = np.sqrt(w)
    a, b = np.stack(columns, axis=1) * root[:, None], y * root
    a, b = np.vstack([a, np.diag(np.sqrt(ridge))]), np.append(b, np.zeros(len(ridge)))
    found = np.linalg.lstsq(a, b, rcond=None)[0]
    return float(np.sum((a @ found - b) ** 2)), found


def joint(off, sigma):
    return 0.0 if math.isnan(off) else min(12.0, 0.5 * (off / sigma) ** 2)


@dataclass
class Best:
    cost: float = FAR
    begin: int = 0
    left: float = math.nan
    arrived: float = math.nan
    form: int = 0


class PlainDecoder:
    def __init__(self, bins) -> None:
        self.y, self.w = np.array(bins).T
        self.best = [[Best(), Best(), Best()]]
        for k in range(1, len(bins) + 1):
            self.best.append([self._stand(k), self._glide(k), self._jump(k)])

    def _before(self, i, kinds):
        """The cheapest of these kinds that ends at bin `i`, and where it arrived (a jump arrives nowhere)."""
        if i == 0:
            return 0.0, math.nan
        s = min((self.best[i][kind] for kind in kinds), key=lambda b: b.cost)
        return s.cost, s.arrived

    def _stand(self, k) -> Best:
        best = Best()
        for i in range(k - d.STAND_BINS + 1):
            y, w = self.y[i:k], self.w[i:k]
            left, (height, slope) = squares(y, w, ones_and_times(k - i), [None, d.SLOPE_CENTS_A_BIN])
            before, arrived = self._before(i, (d._GLIDE, d._JUMP))
            cost = before + d.PRICE_SEGMENT + d.CORRELATED * left + joint(height - arrived, d.JOINT_CENTS)
            if cost < best.cost:
                best = Best(cost, i, height, height + slope * (k - i))
        return self._settling(k, best)

    def _settled(self, k, tau_s):
        """(weighted sum of squares, height, amount) of the first `k` bins that settle in one way."""
        y, w, e = self.y[:k], self.w[:k], np.exp(-np.arange(k) * d.BIN_S / tau_s)
        left, (height, amount) = squares(y, w, [np.ones(k), e], [None, d.SETTLE_CENTS])
        most = 2 * d.SETTLE_CENTS
        if not 0 <= amount <= most:
            amount = min(max(amount, 0.0), most)
            left, (height,) = squares(y - amount * e, w, [np.ones(k)], [None])
            left += 0.5 / d.CORRELATED * (amount / d.SETTLE_CENTS) ** 2
        return left, height, amount

    def settles_to(self, k, at) -> float:
        """Height at bin `at` of the first `k`, over all ways of settling by their marginal likelihoods."""
        heights, logs = [], []
        for tau_s in d.SETTLE_S:
            left, height, amount = self._settled(k, tau_s)
            e = np.exp(-np.arange(k) * d.BIN_S / tau_s)
            prior = np.diag([0.0, 0.5 / d.CORRELATED / d.SETTLE_CENTS**2])
            known = np.array([np.ones(k), e]) * self.w[:k] @ np.array([np.ones(k), e]).T + prior
            logs.append(-d.CORRELATED * left - 0.5 * np.linalg.slogdet(known)[1])
            heights.append(height + amount * np.exp(-at * d.BIN_S / tau_s))
        odds = np.exp(np.array(logs) - max(logs))
        return float(odds @ heights / odds.sum())

    def _settling(self, k, best) -> Best:
        if k < d.STAND_BINS:
            return best
        for form, tau_s in enumerate(d.SETTLE_S, 1):
            left, height, amount = self._settled(k, tau_s)
            cost = d.PRICE_SEGMENT + d.PRICE + d.CORRELATED * left
            if cost < best.cost:
                best = Best(cost, 0, height + amount, height, form)
        return best

    def _went(self, i, k, s):
        y, w = self.y[i:k], self.w[i:k]
        left, (begin, height) = squares(y, w, [ones_and_times(k - i)[0], s], [None, None])
        cost = d.CORRELATED * left / (1 + (d.GLIDE_MISFIT * height) ** 2 * w.mean())
        possible = d.LEAST_GLIDE_CENTS <= abs(height) <= d.FURTHEST_CENTS
        return (cost if possible else FAR), begin, height

    def _glide(self, k) -> Best:
        best = Best()
        for n in d.GLIDE_BINS:
            if n > k:
                continue
            cost, begin, height = self._went(k - n, k, share_of_way(n))
            before, arrived = self._before(k - n, (d._STAND, d._GLIDE, d._JUMP))
            cost += before + d.PRICE_SEGMENT + (2 * d.PRICE if k == n else 0.0)
            cost += joint(begin - arrived, d.JOINT_CENTS + d.GLIDE_MISFIT * abs(height))
            if cost < best.cost:
                best = Best(cost, k - n, begin, begin + height)
        if d.GLIDE_BINS[0] <= k <= d.HALF_HEARD_BINS:
            for form, part in enumerate(d.PARTS, 1):
                cost, begin, height = self._went(0, k, share_of_way(k, part))
                cost += d.PRICE_SEGMENT + 2 * d.PRICE
                if cost < best.cost:
                    best = Best(cost, 0, begin + height * float(step(part)), begin + height, form)
        return best

    def _jump(self, k) -> Best:
        best = Best()
        for i in range(max(1, k - d.JUMP_BINS), k):
            before, _ = self._before(i, (d._STAND, d._GLIDE))
            if before + d.PRICE_JUMP < best.cost:
                best = Best(before + d.PRICE_JUMP, i)
        return best

    def cost(self, k: int) -> float:
        return min(b.cost for b in self.best[k])

    def path(self) -> list[tuple[str, int, int, float, float]]:
        """(kind, begin, end, cents where it begins, cents where it ends) of each segment."""
        k, kinds, found = len(self.y), (d._STAND, d._GLIDE, d._JUMP), []
        while k > 0:
            kind = min(kinds, key=lambda a: self.best[k][a].cost)
            b = self.best[k][kind]
            if b.cost >= FAR:
                break
            heard = self.y[b.begin : k][self.w[b.begin : k] > 0]
            unheard = kind == d._GLIDE and b.begin > 0 and abs(b.arrived - b.left) - np.ptp(heard) > d.HALF_FRET_CENTS
            left, arrived = b.left, b.arrived
            if kind == d._STAND and b.form:
                left = arrived = self.settles_to(k, k + d.SETTLED_BINS)
            found.append(("jump" if unheard else d.KINDS[kind], b.begin, k, left, arrived))
            k, kinds = b.begin, {d._STAND: (1, 2), d._GLIDE: (0, 1, 2), d._JUMP: (0, 1)}[kind]
        return found[::-1]
