"""A log and a choice -> everything that a review says, whatever it is then written as."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from pedal.app.review.choice import Choice, chosen_sessions, fits
from pedal.app.store.reader import Session, StoreReader
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.progress.advice import Advice, advise, silence
from pedal.progress.figures import GROUPINGS, Figures, figures_of, table, target_table
from pedal.progress.logged_note import LoggedNote


@dataclass(frozen=True, slots=True)
class Review:
    """Sessions in the order played, `notes` numbered by that order, `entries` beside them, figures by grouping.

    `overall` are the figures of all tries together; `advice` may be empty, `silence` then says why. `traces` holds the
    pitch of some notes by their index.
    """

    sessions: tuple[Session, ...]
    entries: tuple[LogEntry, ...]
    notes: tuple[LoggedNote, ...]
    tables: dict[str, list[Figures]]
    overall: Figures
    advice: tuple[Advice, ...]
    silence: str
    traces: Mapping[int, Trace] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()


Wanted = Callable[[Review], Iterable[int]]
"""Which of a review's notes (by index) shall come with their traces."""


def review_of(log: Path, choice: Choice, *, wanted: Wanted = lambda _: ()) -> Review:
    """The review of a log, with the traces that are wanted once the figures are known.

    Raises `StoreError` for a log that cannot be read, `UsageError` for a session that is not in it.
    """
    kept: list[tuple[int, LogEntry]] = []
    notes: list[LoggedNote] = []
    with StoreReader(log) as reader:
        sessions = chosen_sessions(reader.sessions(), choice)
        for order, session in enumerate(sessions, 1):
            for number, entry in reader.numbered(session.id):
                note = logged_note(order, entry)
                if note is not None and fits(note, choice):
                    kept.append((number, entry))
                    notes.append(note)
        review = _review(sessions, [entry for _, entry in kept], notes)
        found = {at: reader.trace(sessions[notes[at].session - 1].id, kept[at][0]) for at in wanted(review)}
        remarks = tuple(reader.remarks)
    return replace(review, traces={at: trace for at, trace in found.items() if trace is not None}, remarks=remarks)


def _review(sessions: Sequence[Session], entries: Sequence[LogEntry], notes: Sequence[LoggedNote]) -> Review:
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
