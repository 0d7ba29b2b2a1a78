"""What the pictures draw, apart from how: traces from their onset, misses by session, errors of pre-bends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pedal.notes.note import Trace
from pedal.progress.figures import Figures, grouped, misses_by_session
from pedal.progress.logged_note import LoggedNote
from pedal.review.review import Review, worth_drawing
from pedal.theory.cents import hz_of
from pedal.theory.spelling import parse_pitch
from pedal.values import frozen

BIN_CENTS = 5


@frozen
class Curves:
    """Traces of one target laid over each other. Each is (seconds since its onset, cents).

    Cents count from the target for bends and pre-bends, from the rest note as heard for curls.
    """

    target: str
    curl: bool
    curves: tuple[tuple[NDArray[np.float64], NDArray[np.float64]], ...]


@frozen
class PitchCurve:
    """One target from session to session: (session, middle miss), in cents or, of curls, in percent released."""

    row: Figures
    points: tuple[tuple[int, float], ...]
    percent: bool


def pictured(review: Review) -> list[str]:
    """Names of the few targets worth drawing."""
    return worth_drawing(review.tables["target"], review.advice)


def curves_of(review: Review, target: str) -> Curves:
    """The traces of a target, as far as the review has them."""
    curl = target.endswith(" curl")
    found = [
        curve
        for noted, trace in review.pictured
        if noted.note.target == target
        and (curve := _curve(noted.note, trace, noted.entry.a4_hz, curl=curl)) is not None
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


def courses_of(review: Review) -> list[PitchCurve]:
    """Every target with a middle miss in at least two sessions, most tried first."""
    courses_by_name = {name: misses_by_session(group) for name, group in grouped(review.tries, "target")}
    courses = []
    for row in sorted(review.tables["target"], key=lambda row: -row.tries):
        points = courses_by_name[row.name]
        percent = row.bias_cents is None
        if len(points) > 1:
            scaled = tuple((session, 100 * miss if percent else miss) for session, miss in points)
            courses.append(PitchCurve(row, scaled, percent))
    return courses


def prebend_errors(review: Review) -> NDArray[np.float64]:
    """Signed errors of all pre-bends in cents."""
    errors = review.tries.value[review.tries.are(lambda sort: sort.skill == "prebend")]
    return errors[~np.isnan(errors)]


def binned(errors: Sequence[float] | NDArray[np.float64]) -> list[tuple[int, int]]:
    """(lower edge in cents, count) of bins of five cents, from the lowest to the highest, the empty ones too."""
    if not len(errors):
        return []
    edges = BIN_CENTS * np.floor(np.asarray(errors) / BIN_CENTS).astype(np.int64)
    low = int(edges.min())
    counts = np.bincount((edges - low) // BIN_CENTS)
    return [(low + BIN_CENTS * at, int(count)) for at, count in enumerate(counts)]
