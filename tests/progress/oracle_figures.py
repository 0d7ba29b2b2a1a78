"""The figures as they were computed before they were columns: note by note, in plain Python, quadratic in sessions.

Kept as it was, so that what is quick can be held to what was simple.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import combinations, groupby
from statistics import median

from pedal.progress.figures import Figures
from pedal.progress.intervals import median_estimate, share_estimate
from pedal.progress.logged_note import LoggedNote
from pedal.progress.need import spread_of
from pedal.progress.trend import Trend, standing

# Written out, and not taken from the code, so that a change of it is seen.
LEAST_SESSIONS = 6

LEAST_TRIES = 10
"""Fewer tries of one thing claim nothing: even of ten, the interval of the median leaves out but one at each end."""

FELT_CENTS = 5.0
"""What is surely less than this is not spoken of: half of the band that counts as true."""
_FELT_SHARE = 0.1
_LEAST_TRIES_A_SESSION = 3

Grouping = Callable[[LoggedNote], str]
GROUPINGS: dict[str, Grouping] = {
    "target": lambda note: note.target,
    "string": lambda note: "" if note.string is None else f"string {note.string}",
    "position": lambda note: "" if note.position is None else f"position {note.position}",
    "mode": lambda note: note.mode,
    "key": lambda note: note.key,
}


def history(notes: Iterable[LoggedNote]) -> list[LoggedNote]:
    """Only the notes that were a bend of some kind and could be judged."""
    return [note for note in notes if note.skill is not None]


def figures_of(name: str, notes: Sequence[LoggedNote]) -> Figures:
    """The figures of one group of notes; those that are no tries do not count."""
    tries = history(notes)
    errors = [note.error_cents for note in tries if note.error_cents is not None]
    curls = [note for note in tries if note.skill == "curl"]
    bends = [note.verdict for note in tries if note.skill == "bend"]
    return Figures(
        name=name,
        tries=len(tries),
        bias_cents=median_estimate(errors),
        spread_cents=spread_of(errors),
        height_cents=median_estimate([n.verdict.bend_cents for n in curls if n.verdict.bend_cents is not None]),
        hits=share_estimate(sum(note.hit for note in tries), len(tries)),
        kept=share_estimate(sum(not note.released for note in curls), len(curls)),
        rise_s=median_estimate([bend.rise_s for bend in bends if bend.rise_s is not None]),
        overshoot_cents=median_estimate([b.overshoot_cents for b in bends if b.overshoot_cents is not None]),
        trend=trend_of([miss for _, miss in misses_by_session(tries)]),
    )


def misses_by_session(tries: Sequence[LoggedNote]) -> list[tuple[int, float]]:
    """(session, its middle miss in cents, of curls the share released); sessions of few tries are left out."""
    values = []
    for session, group in groupby(sorted(tries, key=lambda note: note.session), key=lambda note: note.session):
        notes = list(group)
        if len(notes) < _LEAST_TRIES_A_SESSION:
            continue
        misses = [abs(note.error_cents) for note in notes if note.error_cents is not None]
        middle = median_estimate(misses)
        values.append((session, middle.value if middle else sum(note.released for note in notes) / len(notes)))
    return values


def grouped(notes: Iterable[LoggedNote], by: Grouping) -> dict[str, list[LoggedNote]]:
    """Tries by name, in order of the name; tries whose name is unknown ("") are left out."""
    groups: dict[str, list[LoggedNote]] = defaultdict(list)
    for note in history(notes):
        if name := by(note):
            groups[name].append(note)
    return dict(sorted(groups.items()))


def table(notes: Iterable[LoggedNote], by: Grouping) -> list[Figures]:
    """Figures of every group, no trend announced: outside of one target it may come from what was practised when."""
    return [figures_of(name, group) for name, group in grouped(notes, by).items()]


def target_table(notes: Iterable[LoggedNote]) -> list[Figures]:
    """Figures of every target; a trend stands only if it survives all the trends together and is large enough."""
    rows = table(notes, GROUPINGS["target"])
    with_trend = [row for row in rows if row.trend is not None and row.enough]
    stands = standing([row.trend.p for row in with_trend if row.trend is not None])
    announced = {row.name for row, stand in zip(with_trend, stands, strict=True) if stand and _felt(row)}
    return [replace(row, trend_stands=row.name in announced) for row in rows]


def _felt(row: Figures) -> bool:
    """Whether the fitted line moves by more than a player would notice."""
    least = _FELT_SHARE if row.bias_cents is None else FELT_CENTS
    return row.trend is not None and abs(row.trend.last - row.trend.first) >= least


def trend_of(values: Sequence[float]) -> Trend | None:
    """The trend of one figure a session, in order; None for fewer than `LEAST_SESSIONS`.

    `first` and `last` are the ends of the fitted line, median(values) + slope * (x - median(x)).
    """
    n = len(values)
    if n < LEAST_SESSIONS:
        return None
    slope, middle = theil_sen(values), median(values)
    return Trend(slope, mann_kendall_p(values), n, middle - slope * (n - 1) / 2, middle + slope * (n - 1) / 2)


def theil_sen(values: Sequence[float]) -> float:
    """Median of the slopes between all pairs of values, one step from each to the next."""
    return median((values[j] - values[i]) / (j - i) for i, j in combinations(range(len(values)), 2))


def mann_kendall_p(values: Sequence[float]) -> float:
    """Two-sided p that as many pairs rise (or fall) by chance.

    Without ties exact, from the distribution of inversions; with ties, or above 50 values, normal with Kendall's
    variance for ties and the score moved by one towards zero.
    """
    n = len(values)
    score = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    ties = [count for count in Counter(values).values() if count > 1]
    if not ties and n <= 50:
        return _exact_p(n, score)
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    return math.erfc(max(0, abs(score) - 1) / math.sqrt(2 * variance)) if variance else 1.0


def _exact_p(n: int, score: int) -> float:
    """Two-sided tail of the number of inversions in a random order of n (Mahonian numbers)."""
    counts = [1]
    for size in range(2, n + 1):
        longer = [0] * (len(counts) + size - 1)
        for inversions, ways in enumerate(counts):
            for more in range(size):
                longer[inversions + more] += ways
        counts = longer
    fewest = (n * (n - 1) // 2 - abs(score)) // 2
    return min(1.0, 2 * sum(counts[: fewest + 1]) / math.factorial(n))
