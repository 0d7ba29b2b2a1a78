"""What the pictures draw, apart from how: traces from their onset, misses by session, errors of pre-bends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.app.review.review import Review
from pedal.notes.note import Trace
from pedal.progress.figures import Figures, misses_by_session
from pedal.progress.logged_note import LoggedNote
from pedal.theory.cents import hz_of
from pedal.theory.spelling import parse_pitch

MOST_CURVES = 30
MOST_TARGETS = 4
BIN_CENTS = 5


@dataclass(frozen=True, slots=True)
class Curves:
    """Traces of one target laid over each other. Each is (seconds since its onset, cents).

    Cents count from the target for bends and pre-bends, from the rest note as heard for curls.
    """

    target: str
    curl: bool
    curves: tuple[tuple[NDArray[np.float64], NDArray[np.float64]], ...]


@dataclass(frozen=True, slots=True)
class Course:
    """One target from session to session: (session, middle miss), in cents or, of curls, in percent released."""

    row: Figures
    points: tuple[tuple[int, float], ...]
    percent: bool


def pictured(review: Review) -> list[str]:
    """Names of the few targets worth drawing: what the advice is about, then what was tried most."""
    rows = sorted(review.tables["target"], key=lambda row: -row.tries)
    names = dict.fromkeys([*(advice.target for advice in review.advice), *(row.name for row in rows)])
    return list(names)[:MOST_TARGETS]


def pictured_notes(review: Review) -> list[int]:
    """Indices of the newest notes of the pictured targets: those whose traces are drawn."""
    left = dict.fromkeys(pictured(review), MOST_CURVES)
    found = []
    for at in range(len(review.notes) - 1, -1, -1):
        if left.get(review.notes[at].target):
            left[review.notes[at].target] -= 1
            found.append(at)
    return found


def curves_of(review: Review, target: str) -> Curves:
    """The traces of a target, as far as the review has them."""
    curl = target.endswith(" curl")
    found = [
        curve
        for at, trace in review.traces.items()
        if review.notes[at].target == target
        and (curve := _curve(review.notes[at], trace, review.entries[at].a4_hz, curl=curl)) is not None
    ]
    return Curves(target, curl, tuple(found))


def _curve(
    note: LoggedNote, trace: Trace, a4_hz: float, *, curl: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    verdict = note.verdict
    name = verdict.rest_note if curl or verdict.rest_note is not None else verdict.target_note
    if name is None or (not curl and verdict.target_note is None):
        return None
    zero_hz = hz_of(parse_pitch(name), a4_hz=a4_hz) * 2 ** ((verdict.rest_cents or 0.0) / 1200)
    cents = 1200 * np.log2(trace.hz / zero_hz)
    if not curl and verdict.target_note is not None:
        cents = cents - 100.0 * (parse_pitch(verdict.target_note) - parse_pitch(name))
    return trace.time_s - verdict.onset_s, cents


def courses_of(review: Review) -> list[Course]:
    """Every target with a middle miss in at least two sessions, most tried first."""
    courses = []
    for row in sorted(review.tables["target"], key=lambda row: -row.tries):
        points = misses_by_session([note for note in review.notes if note.target == row.name])
        percent = row.bias_cents is None
        if len(points) > 1:
            scaled = tuple((session, 100 * miss if percent else miss) for session, miss in points)
            courses.append(Course(row, scaled, percent))
    return courses


def prebend_errors(review: Review) -> list[float]:
    """Signed errors of all pre-bends in cents."""
    return [n.error_cents for n in review.notes if n.skill == "prebend" and n.error_cents is not None]


def binned(errors: Sequence[float]) -> list[tuple[int, int]]:
    """(lower edge in cents, count) of bins of five cents, from the lowest to the highest, the empty ones too."""
    edges = [BIN_CENTS * int(np.floor(error / BIN_CENTS)) for error in errors]
    return [(edge, edges.count(edge)) for edge in range(min(edges), max(edges) + 1, BIN_CENTS)] if edges else []
