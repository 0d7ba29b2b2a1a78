"""Tries -> figures: bias, spread, share of hits, ending kept, time, overshoot, trend, grouped in any way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pedal.progress.intervals import Estimate, median_estimate, scatter_of, share_estimate
from pedal.progress.trend import Trend, standing, trend_of
from pedal.progress.tries import Tries

LEAST_TRIES = 10
"""Fewer tries of one thing claim nothing: even of ten, the interval of the median leaves out but one at each end."""

FELT_CENTS = 5.0
"""What is surely less than this is not spoken of: half of the band that counts as true."""
_FELT_SHARE = 0.1
_LEAST_TRIES_A_SESSION = 3
_SESSIONS_AT_ONCE = 100

Names = tuple[NDArray[np.integer], list[str]]
"""A code for each try, and the name of each code; "" where it is unknown."""


def _targets(tries: Tries) -> Names:
    names = list(dict.fromkeys(sort.target for sort in tries.sorts))
    place = {name: at for at, name in enumerate(names)}
    return np.array([place[sort.target] for sort in tries.sorts] or [0], np.uint16)[tries.sort], names


def _settings(which: int) -> Callable[[Tries], Names]:
    def names_of(tries: Tries) -> Names:
        names = list(dict.fromkeys(words[which] for words in tries.settings))
        place = {name: at for at, name in enumerate(names)}
        return np.array([place[words[which]] for words in tries.settings] or [0], np.uint16)[tries.setting], names

    return names_of


GROUPINGS: dict[str, Callable[[Tries], Names]] = {
    "target": _targets,
    "string": lambda tries: (tries.string, ["", *(f"string {number}" for number in range(1, 256))]),
    "position": lambda tries: (tries.position, ["", *(f"position {number}" for number in range(1, 256))]),
    "mode": _settings(0),
    "key": _settings(1),
}


@dataclass(frozen=True, slots=True)
class Figures:
    """What a group of tries says; None where nothing of the kind was tried.

    bias_cents : median signed error of bends and pre-bends.
    spread_cents : their scatter, 1.4826 times the median distance from that median.
    height_cents : median height of curls above their rest note.
    hits : share called true.
    kept : share of curls that were not released before they were cut off.
    rise_s, overshoot_cents : medians of bends: from leaving the rest note to the hold, and how far above the hold.
    trend : of the middle miss a session (cents; for curls the share released); `trend_stands` once it may be announced.
    """

    name: str
    tries: int
    bias_cents: Estimate | None
    spread_cents: float | None
    height_cents: Estimate | None
    hits: Estimate | None
    kept: Estimate | None
    rise_s: Estimate | None
    overshoot_cents: Estimate | None
    trend: Trend | None
    trend_stands: bool = False

    @property
    def enough(self) -> bool:
        """Whether there are tries enough for a claim."""
        return self.tries >= LEAST_TRIES


def figures_of(name: str, tries: Tries) -> Figures:
    """The figures of one group of tries."""
    curl = tries.are(lambda sort: sort.skill == "curl")
    errors = _known(tries.value[~curl])
    curls = int(np.count_nonzero(curl))
    return Figures(
        name=name,
        tries=len(tries),
        bias_cents=median_estimate(errors),
        spread_cents=scatter_of(errors),
        height_cents=median_estimate(_known(tries.value[curl])),
        hits=share_estimate(_count(tries.are(lambda sort: sort.hit)), len(tries)),
        kept=share_estimate(curls - _count(curl & tries.are(lambda sort: sort.released)), curls),
        rise_s=median_estimate(_known(tries.rise_s)),
        overshoot_cents=median_estimate(_known(tries.overshoot_cents)),
        trend=trend_of([miss for _, miss in misses_by_session(tries)]),
    )


def misses_by_session(tries: Tries) -> list[tuple[int, float]]:
    """(session, its middle miss in cents, of curls the share released); sessions of few tries are left out."""
    if not len(tries):
        return []
    session = tries.session
    first = np.flatnonzero(np.diff(session, prepend=session[0] - 1))
    counts, sessions = np.diff(first, append=len(tries)), session[first]
    del session
    released = np.add.reduceat(tries.are(lambda sort: sort.released), first, dtype=np.int64)
    return [
        (int(session), float(down / count) if np.isnan(middle) else float(middle))
        for session, count, down, middle in zip(sessions, counts, released, _middles(tries, first), strict=True)
        if count >= _LEAST_TRIES_A_SESSION
    ]


def _middles(tries: Tries, first: NDArray[np.intp]) -> NDArray[np.float64]:
    """The median of the distances from the target in each session (its first try is given), NaN where there is none."""
    miss, session, parts = np.abs(tries.value), tries.session, []
    miss[tries.are(lambda sort: sort.skill == "curl")] = np.nan
    for at in range(0, len(first), _SESSIONS_AT_ONCE):
        some = first[at : at + _SESSIONS_AT_ONCE]
        end = first[at + _SESSIONS_AT_ONCE] if at + _SESSIONS_AT_ONCE < len(first) else len(miss)
        parts.append(_middles_of(miss[some[0] : end], session[some[0] : end], some - some[0]))
    return np.concatenate(parts)


def _middles_of(miss: NDArray[np.float64], session: NDArray[np.int32], first: NDArray[np.intp]) -> NDArray[np.float64]:
    """Sorted by session, then by distance, the middle of each session stands in the middle of its stretch."""
    ordered = miss[np.lexsort((miss, session))]  # what is NaN comes last in its session
    known = np.add.reduceat(~np.isnan(miss), first, dtype=np.int64)
    low, high = first + np.maximum(0, known - 1) // 2, first + known // 2
    return np.where(known > 0, (ordered[low] + ordered[np.minimum(high, len(miss) - 1)]) / 2, np.nan)


def grouped(tries: Tries, by: str) -> Iterator[tuple[str, Tries]]:
    """(name, its tries), in order of the name; tries whose name is unknown ("") are left out."""
    codes, names = GROUPINGS[by](tries)
    there = set(np.unique(codes).tolist())
    for name, code in sorted((name, code) for code, name in enumerate(names) if name and code in there):
        yield name, tries.part(codes == code)


def table(tries: Tries, by: str) -> list[Figures]:
    """Figures of every group, no trend announced: outside of one target it may come from what was practised when."""
    return [figures_of(name, group) for name, group in grouped(tries, by)]


def target_table(tries: Tries) -> list[Figures]:
    """Figures of every target; a trend stands only if it survives all the trends together and is large enough."""
    rows = table(tries, "target")
    with_trend = [row for row in rows if row.trend is not None and row.enough]
    stands = standing([row.trend.p for row in with_trend if row.trend is not None])
    announced = {row.name for row, stand in zip(with_trend, stands, strict=True) if stand and _felt(row)}
    return [replace(row, trend_stands=row.name in announced) for row in rows]


def _felt(row: Figures) -> bool:
    """Whether the fitted line moves by more than a player would notice."""
    least = _FELT_SHARE if row.bias_cents is None else FELT_CENTS
    return row.trend is not None and abs(row.trend.last - row.trend.first) >= least


def _known(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Without what is unknown."""
    unknown = np.isnan(values)
    return values[~unknown] if unknown.any() else values


def _count(which: NDArray[np.bool_]) -> int:
    return int(np.count_nonzero(which))
