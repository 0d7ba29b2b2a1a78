"""Logged notes -> figures: bias, spread, share of hits, ending kept, time, overshoot, trend, grouped in any way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from pedal.progress.intervals import Estimate, median_estimate, share_estimate
from pedal.progress.logged_note import LoggedNote
from pedal.progress.need import spread_of
from pedal.progress.trend import Trend, standing, trend_of

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


def tried(notes: Iterable[LoggedNote]) -> list[LoggedNote]:
    """Only the notes that were a bend of some kind and could be judged."""
    return [note for note in notes if note.skill is not None]


def figures_of(name: str, notes: Sequence[LoggedNote]) -> Figures:
    """The figures of one group of notes; those that are no tries do not count."""
    tries = tried(notes)
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
    for note in tried(notes):
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
