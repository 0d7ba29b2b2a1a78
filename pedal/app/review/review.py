"""A log and a choice -> everything that a review says, whatever it is then written as."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pedal.app.review.choice import Choice, chosen_sessions, fits
from pedal.app.store.reader import Session, StoreReader
from pedal.modes.log_entry import LogEntry
from pedal.progress.advice import Advice, advise, silence
from pedal.progress.figures import GROUPINGS, Figures, figures_of, table, target_table
from pedal.progress.logged_note import LoggedNote


@dataclass(frozen=True, slots=True)
class Review:
    """Sessions in the order played, `notes` numbered by that order, `entries` beside them, figures by grouping.

    `overall` are the figures of all tries together; `advice` may be empty, `silence` then says why.
    """

    sessions: tuple[Session, ...]
    entries: tuple[LogEntry, ...]
    notes: tuple[LoggedNote, ...]
    tables: dict[str, list[Figures]]
    overall: Figures
    advice: tuple[Advice, ...]
    silence: str


def review_of(log: Path, choice: Choice, *, with_traces: bool = False) -> Review:
    """The review of a log; raises `StoreError` for a log that cannot be read, `UsageError` for a session not in it."""
    entries: list[LogEntry] = []
    notes: list[LoggedNote] = []
    with StoreReader(log) as reader:
        sessions = chosen_sessions(reader.sessions(), choice)
        for number, session in enumerate(sessions, 1):
            for entry in reader.entries(session.id, with_traces=with_traces):
                note = logged_note(number, entry)
                if note is not None and fits(note, choice):
                    entries.append(entry)
                    notes.append(note)
    return Review(
        sessions=tuple(sessions),
        entries=tuple(entries),
        notes=tuple(notes),
        tables={name: table(notes, by) for name, by in GROUPINGS.items()} | {"target": target_table(notes)},
        overall=figures_of("all", notes),
        advice=tuple(advise(notes)),
        silence=silence(notes),
    )


def logged_note(session: int, entry: LogEntry) -> LoggedNote | None:
    """An entry as progress sees it; None for a skipped one."""
    if entry.verdict is None:
        return None
    return LoggedNote(session, entry.mode, entry.key, entry.verdict, entry.position, entry.string)
