"""A review as plain tables for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pedal.progress.figures import Figures
from pedal.review.review import Review
from pedal.review.words import (
    COLUMNS,
    MEANINGS,
    NOTHING,
    behind,
    cells,
    date_words,
    length_words,
    players_together,
    row_words,
    timed_lines,
)
from pedal.theory.spelling import for_eyes

_TITLES = {"target": "By target", "string": "By string", "position": "By position", "mode": "By mode", "key": "By key"}
_LATEST = 8


def text_of(review: Review) -> str:
    """The whole review: advice first, then the tables, then what their columns mean."""
    return "\n".join(_lines(review)) + "\n"


def _lines(review: Review) -> Iterator[str]:
    yield from [f"* {advice.sentence}" for advice in review.advice] or [review.silence]
    if not review.notes:
        return
    if together := players_together(review):
        yield ""
        yield together
    shown: set[str] = set()
    for name, title in _TITLES.items():
        rows = review.tables[name]
        if name == "target" or len(rows) > 1:
            yield ""
            yield from _table(name, title, rows)
            shown |= {
                column for row in rows for column, cell in zip(COLUMNS, cells(row), strict=True) if cell != NOTHING
            }
    if timed := timed_lines(review.timed):
        yield ""
        yield from timed
    if review.licks:
        yield ""
        yield from _licks(review)
    yield ""
    yield from _sessions(review)
    yield ""
    yield from (f"{column:>6}: {MEANINGS[column]}" for column in COLUMNS if column in shown)


def _table(name: str, title: str, rows: Sequence[Figures]) -> Iterator[str]:
    """The interval of a share is left to page and data: eighty columns hold no more."""
    written = [(row_words(name, row), *cells(row)) for row in rows]
    share = 1 + COLUMNS.index("true")
    written = [(*row[:share], row[share].partition(" (")[0], *row[share + 1 :]) for row in written]
    used = [0, *(n for n in range(1, len(COLUMNS) + 1) if any(cell[n] != NOTHING for cell in written))]
    yield from columns([(title, *COLUMNS), *written], used)


def _licks(review: Review) -> Iterator[str]:
    """A row a lick: how often, each note's share of right marks, and the note that stays behind."""
    rows = [
        (
            for_eyes(one.lick),
            str(one.passes),
            " ".join(f"{100 * note.right.value:.0f}" for note in one.notes),
            behind(one),
        )
        for one in review.licks
    ]
    yield from columns([("Lick", "passes", "right, % a note", "stays behind"), *rows], [0, 1, 2, 3])


def _sessions(review: Review) -> Iterator[str]:
    latest = zip(review.sessions[-_LATEST:], review.players[-_LATEST:], strict=True)
    rows = [(f"{s.id}", date_words(s), length_words(s), f"{s.entries}", name or NOTHING) for s, name in latest]
    hidden = len(review.sessions) - len(rows)
    players = any(review.players)
    yield from columns(
        [("Session", "begun", "length", "notes", "player"), *rows], [0, 1, 2, 3, *([4] if players else [])]
    )
    if hidden:
        yield f"(and {hidden} earlier)"
    if any(session.wall_doubtful for session in review.sessions):
        yield "? the clock was not to be trusted: order and length are certain, the date is not"


def columns(rows: Sequence[Sequence[str]], used: Sequence[int]) -> Iterator[str]:
    """Rows as lines, the first column to the left, the others to the right, a rule under the first row."""
    widths = [max(len(row[n]) for row in rows) for n in used]
    for number, row in enumerate(rows):
        first, *others = (row[n] for n in used)
        padded = (cell.rjust(width) for cell, width in zip(others, widths[1:], strict=True))
        yield "  ".join((first.ljust(widths[0]), *padded)).rstrip()
        if number == 0:
            yield "  ".join("-" * width for width in widths)
