"""Marks of passes as they were logged -> for each lick, which of its notes stays behind."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from pedal.progress.intervals import Estimate, share_estimate
from pedal.values import frozen

LEAST_PASSES = 3
"""Fewer passes say nothing of a note."""
RIGHT_MARKS = frozenset({"plain", "curl_cut", "bent", "curl_released, asked"})

LickRow = tuple[str, int | None, str, str | None, int, int]
"""Lick, number of the note (None for an added one), mark, its pitch, how often, and the highest number of a pass."""


@frozen
class LickNoteFigures:
    """One note of a lick. `right` : share of passes in which it was as asked for; `fault` its commonest other mark."""

    number: int
    note: str
    passes: int
    right: Estimate
    fault: str


@frozen
class LickFigures:
    """A lick: how often it was played, its notes in order, and the one that surely stays behind the others, if any.

    added : notes that were played and not asked for.
    """

    lick: str
    passes: int
    notes: tuple[LickNoteFigures, ...]
    behind: LickNoteFigures | None
    added: int


def lick_figures(sessions: Iterable[Iterable[LickRow]]) -> list[LickFigures]:
    """Figures of every lick in the rows of the sessions, the most played first."""
    marks: dict[str, dict[int, dict[str, int]]] = defaultdict(lambda: defaultdict(lambda: defaultdict(int)))
    pitches: dict[tuple[str, int], dict[str, str]] = defaultdict(dict)
    passes: dict[str, int] = defaultdict(int)
    added: dict[str, int] = defaultdict(int)
    for rows in sessions:
        latest: dict[str, int] = defaultdict(int)
        for lick, number, mark, pitch, count, highest in rows:
            latest[lick] = max(latest[lick], highest)
            if number is None:
                added[lick] += count
                continue
            marks[lick][number][mark] += count
            if pitch is not None:
                pitches[lick, number].setdefault(mark, pitch)
        for lick, highest in latest.items():
            passes[lick] += highest
    found = []
    for lick, notes in marks.items():
        figures = tuple(_note(number, _pitch(pitches[lick, number]), notes[number]) for number in sorted(notes))
        found.append(LickFigures(lick, passes[lick], figures, _behind(figures), added[lick]))
    return sorted(found, key=lambda one: (-one.passes, one.lick))


def _pitch(heard: dict[str, str]) -> str:
    """The note that was asked for, of what was heard by mark: what was right is at it, and a miss may be anywhere."""
    marks = sorted(heard, key=lambda mark: (mark not in RIGHT_MARKS, mark == "missed"))
    return heard[marks[0]] if marks else ""


def _note(number: int, pitch: str, marks: dict[str, int]) -> LickNoteFigures:
    count = sum(marks.values())
    right = sum(times for mark, times in marks.items() if mark in RIGHT_MARKS)
    faults = {mark: times for mark, times in marks.items() if mark not in RIGHT_MARKS}
    fault = max(faults, key=lambda mark: (faults[mark], mark), default="")
    share = share_estimate(right, count) or Estimate(0.0, 0.0, 1.0, 0)
    return LickNoteFigures(number, pitch, count, share, fault)


def _behind(notes: tuple[LickNoteFigures, ...]) -> LickNoteFigures | None:
    """The note with the lowest share, where its interval lies below that of the best note."""
    told = [note for note in notes if note.passes >= LEAST_PASSES]
    if len(told) < 2:
        return None
    worst = min(told, key=lambda note: (note.right.value, note.number))
    best = max(told, key=lambda note: note.right.low)
    return worst if worst.right.high < best.right.low else None
