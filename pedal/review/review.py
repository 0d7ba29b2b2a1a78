"""A log and a choice -> everything that a review says, whatever it is then written as.

The log is walked through once, in columns: a million notes take what a few figures take, not what a million objects do.
What is written note by note (CSV, MIDI) walks through it again, and holds one note at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from pedal.log.reader import Session, StoreReader
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.progress.advice import Advice, silence
from pedal.progress.figures import GROUPINGS, Figures, figures_of, table, target_table
from pedal.progress.latest import advise_each
from pedal.progress.lick_figures import LickFigures, lick_figures
from pedal.progress.logged_note import LoggedNote
from pedal.progress.naming import folded
from pedal.progress.time_and_vibrato import TimeAndVibrato, TimedNotes
from pedal.progress.tries import Gathering, Row, Tries, is_try
from pedal.review.selection import Selection, Words, chosen_sessions, fits, names_shown, stranger_words
from pedal.values import frozen
from pedal.verdicts.aim import Bands

RowFits = Callable[[Row, tuple[str, str]], bool]
MOST_CURVES = 30
MOST_TARGETS = 4
NOTHING_CHOSEN = "No bend in what was chosen has been judged."


@frozen
class Noted:
    """One note of the log with all that is known of it."""

    session: Session
    number: int
    entry: LogEntry
    note: LoggedNote


@frozen
class Review:
    """Sessions in the order played, how many notes fit the choice, the tries among them, figures by grouping.

    `players` are the names that stand for who played each session, "" for a nameless one (`names_shown`).
    `overall` are the figures of all tries together; `advice` may be empty, `silence` then says why. `pictured` are the
    newest notes of the few targets worth drawing, with their traces, where they were asked for.
    """

    sessions: tuple[Session, ...]
    players: tuple[str, ...]
    notes: int
    tries: Tries
    tables: dict[str, list[Figures]]
    overall: Figures
    advice: tuple[Advice, ...]
    silence: str
    bands: Bands
    timed: TimeAndVibrato
    pictured: tuple[tuple[Noted, Trace], ...]
    remarks: tuple[str, ...]
    licks: tuple[LickFigures, ...]


def review_of(log: Path, choice: Selection, *, bands: Bands | None = None, with_pictures: bool = False) -> Review:
    """The review of a log, held against the player's bands.

    choice : which sessions, keys, targets and players count.
    with_pictures : gather what drawing needs as well, the curves of single notes.

    Raises `StoreError` for a log that cannot be read, `UsageError` for a session that is not in it.
    """
    limits = bands or Bands()
    with StoreReader(log) as reader:
        all_sessions = reader.sessions()
        sessions, stranger = chosen_sessions(all_sessions, choice), stranger_words(all_sessions, choice)
        shown = names_shown(all_sessions)
        players = [shown[session.id] for session in sessions]
        row_fits = _row_fits(choice)
        settings, timed = reader.settings(), TimedNotes()
        gathering = Gathering(settings, row_fits)
        for order, session in enumerate(sessions, 1):
            for rows in reader.judged(session.id):
                gathering.add(order, rows)
            notes = (row for row in reader.timed(session.id) if row_fits is None or row_fits(row, settings[row[1]]))
            timed.add(row[9:] for row in notes)
        tries = gathering.tries()
        tables = {"target": target_table(tries)} | {name: table(tries, name) for name in GROUPINGS if name != "target"}
        overall = figures_of("all", tries)
        if len({folded(name) for name in players}) > 1:
            tables = {name: [_without_trend(row) for row in rows] for name, rows in tables.items()}
            overall = _without_trend(overall)
        targets = tables["target"]
        advice = advise_each(tries, players, rows=targets, bands=limits)
        drawn = worth_drawing(targets, advice) if with_pictures else []
        pictured = tuple(_pictured(reader, sessions, tries, drawn, row_fits))
        whole = choice.key is None and choice.target is None  # a pass is no matter of one target
        licks = lick_figures(reader.lick_rows(session.id) for session in sessions) if whole else []
        remarks = (*reader.remarks, *((stranger,) if stranger else ()))
    return Review(
        sessions=tuple(sessions),
        players=tuple(players),
        notes=gathering.notes,
        tries=tries,
        tables=tables,
        overall=overall,
        advice=tuple(advice),
        silence=silence(tries) if len(tries) or choice == Selection() else NOTHING_CHOSEN,
        bands=limits,
        timed=timed.figures(tries.rise_s),
        pictured=pictured,
        remarks=remarks,
        licks=tuple(licks),
    )


def _without_trend(row: Figures) -> Figures:
    """Of several players together: who played when would be the trend, and nobody's getting better."""
    return replace(row, trend=None, trend_stands=False)


def noted(log: Path, choice: Selection) -> Iterator[Noted]:
    """Every judged note of the choice, in the order played, one at a time; raises as `review_of` does."""
    with StoreReader(log) as reader:
        for order, session in enumerate(chosen_sessions(reader.sessions(), choice), 1):
            for number, entry in reader.numbered(session.id):
                note = logged_note(order, entry)
                if note is not None and fits(note, choice):
                    yield Noted(session, number, entry, note)


def worth_drawing(targets: Sequence[Figures], advice: Sequence[Advice]) -> list[str]:
    """Names of the few targets worth drawing: what the advice is about, then what was tried most."""
    rows = sorted(targets, key=lambda row: -row.tries)
    return list(dict.fromkeys([*(one.target for one in advice), *(row.name for row in rows)]))[:MOST_TARGETS]


def _pictured(
    reader: StoreReader, sessions: Sequence[Session], tries: Tries, targets: Sequence[str], row_fits: RowFits | None
) -> Iterator[tuple[Noted, Trace]]:
    """The newest notes of these targets that have a trace, the newest first."""
    codes, names = GROUPINGS["target"](tries)
    order_of, settings = tries.session, reader.settings()

    @cache
    def numbers(order: int) -> list[int]:
        """Of the tries of a session: read again for the few that are drawn, rather than kept for all."""
        rows = (row for rows in reader.judged(sessions[order - 1].id) for row in rows if is_try(row))
        return [row[0] for row in rows if row_fits is None or row_fits(row, settings[row[1]])]

    for target in targets:
        for at in np.flatnonzero(codes == names.index(target))[: -MOST_CURVES - 1 : -1].tolist():
            order = int(order_of[at])
            session, number = sessions[order - 1], numbers(order)[at - int(np.searchsorted(order_of, order))]
            entry, trace = reader.entry(session.id, number), reader.trace(session.id, number)
            note = None if entry is None else logged_note(order, entry)
            if entry is not None and note is not None and trace is not None:
                yield Noted(session, number, entry, note), trace


def _row_fits(choice: Selection) -> RowFits | None:
    """`fits` for rows of the log; None where everything does."""
    if choice.key is None and choice.target is None:
        return None
    known: dict[tuple[str, Words], bool] = {}

    def row_fits(row: Row, setting: tuple[str, str]) -> bool:
        words = (row[4], row[5], row[6], row[7], row[8])
        found = known.get((setting[1], words))
        if found is None:
            found = known[setting[1], words] = choice.takes(setting[1], words)
        return found

    return row_fits


def logged_note(session: int, entry: LogEntry) -> LoggedNote | None:
    """An entry as progress sees it; None for a skipped one."""
    if entry.verdict is None:
        return None
    return LoggedNote(session, entry.mode, entry.key, entry.verdict, entry.position, entry.string)
