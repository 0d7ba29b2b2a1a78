"""A review as data: one JSON object of figures, or one CSV row a note."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from typing import TextIO

from pedal.log.row import AROUND_COLUMNS, VERDICT_COLUMNS
from pedal.modes.log_entry import LogEntry
from pedal.progress.lick_figures import LickFigures
from pedal.review.review import Noted, Review
from pedal.safe_text import clean, safe_cell

Plain = dict[str, "Plain"] | list["Plain"] | str | float | int | bool | None

_NAMED_ELSEWHERE = {"verdict", "target_note", "player", *AROUND_COLUMNS}
_ENTRY_COLUMNS = tuple(f.name for f in fields(LogEntry) if f.name not in _NAMED_ELSEWHERE)
_HEADER = (
    "session_uid", "session", "begun", "player", *_ENTRY_COLUMNS, "asked_note", *VERDICT_COLUMNS, *AROUND_COLUMNS,
)  # fmt: skip
"""What is new goes to the end, so that a sheet that counts columns still finds the old ones."""


def json_of(review: Review) -> str:
    """The figures, advice and sessions as one JSON object; an interval without bounds has null at its ends."""
    whole: Plain = {
        "advice": [plain(advice) for advice in review.advice],
        "silence": None if review.advice else review.silence,
        "overall": plain(review.overall),
        "time_and_vibrato": plain(review.timed),
        "by": {name: [plain(row) for row in rows] for name, rows in review.tables.items()},
        "licks": [_lick(one) for one in review.licks],
        "sessions": [plain(session) for session in review.sessions],
    }
    return json.dumps(whole, ensure_ascii=False, indent=2, allow_nan=False)


def _lick(one: LickFigures) -> Plain:
    return {
        "lick": clean(one.lick),
        "passes": one.passes,
        "added": one.added,
        "behind": None if one.behind is None else one.behind.number,
        "notes": [plain(note) for note in one.notes],
    }


def plain(value: object) -> Plain:
    """A frozen value as JSON knows it."""
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, str):
        return clean(value)
    if value is None or isinstance(value, float | int):
        return value
    raise TypeError(f"value must be plain data, got {type(value).__name__}")


def write_csv(notes: Iterable[Noted], file: TextIO) -> None:
    """One row a note: session, what was asked (`asked_note`), the verdict's fields, what the note was part of.

    Empty where there is none.
    """
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(_HEADER)
    for one in notes:
        own = [getattr(one.entry, name) for name in _ENTRY_COLUMNS]
        judged = [getattr(one.entry.verdict, name) for name in VERDICT_COLUMNS]
        known = (one.session.uid, one.session.id, f"{one.session.begun_wall_s:.0f}", one.session.player)
        around = [getattr(one.entry, name) for name in AROUND_COLUMNS]
        writer.writerow([safe_cell(cell) for cell in (*known, *own, one.entry.target_note, *judged, *around)])
