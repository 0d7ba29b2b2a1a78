"""Judged notes at hand -> the columns that the log's rows become."""

from __future__ import annotations

from collections.abc import Iterable

from pedal.progress.logged_note import LoggedNote
from pedal.progress.tries import Gathering, Row, Tries


def tries_of(notes: Iterable[LoggedNote]) -> Tries:
    """The tries among notes at hand, in order of their sessions."""
    ordered = sorted(notes, key=lambda note: note.session)
    settings = {words: at for at, words in enumerate(dict.fromkeys((note.mode, note.key) for note in ordered))}
    gathering = Gathering({at: words for words, at in settings.items()})
    rows: dict[int, list[Row]] = {}  # a session at a time, as the log is read: row by row is ten times as slow
    for number, note in enumerate(ordered, 1):
        verdict = note.verdict
        value = verdict.bend_cents if verdict.kind == "curl" else verdict.error_cents
        row = (
            number, settings[note.mode, note.key], note.string, note.position, verdict.kind, verdict.verdict,
            verdict.degree, verdict.target_degree, verdict.target_note, value, verdict.rise_s, verdict.overshoot_cents,
        )  # fmt: skip
        rows.setdefault(note.session, []).append(row)
    for session, played in rows.items():
        gathering.add(session, played)
    return gathering.tries()
