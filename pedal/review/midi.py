"""The notes of a review -> a MIDI file, session after session."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from pedal.errors import StoreError
from pedal.log.reader import StoreReader
from pedal.progress.midi_file import Sound, midi_file
from pedal.review.review import noted
from pedal.review.selection import Selection

MOST_NOTES = 50_000
"""Fifty hours of playing, as many megabytes: more opens in no sequencer, and not in the memory of a pedal."""
_BETWEEN_SESSIONS_S = 2.0


def save_midi(log: Path, choice: Selection, file: BinaryIO) -> int:
    """Write every note whose pitch trace is still there; how many. Raises `StoreError` for none, or too many."""
    count = 0

    def counted() -> Iterator[Sound]:
        nonlocal count
        for sound in _sounds(log, choice):
            count += 1
            if count > MOST_NOTES:
                raise StoreError(f"More than {MOST_NOTES} notes are chosen for --midi: choose fewer with --since.")
            yield sound

    written = midi_file(counted(), name="Undertoe")
    if not count:
        raise StoreError("No note chosen has its pitch trace: choose other sessions, or play some first.")
    file.write(written)
    return count


def _sounds(log: Path, choice: Selection) -> Iterator[Sound]:
    """Times count on through the sessions; within one they are as played."""
    session, shift_s, end_s = 0, 0.0, 0.0
    with StoreReader(log) as reader:
        for one in noted(log, choice):
            trace = reader.trace(one.session.id, one.number)
            if trace is None:
                continue
            if one.note.session != session:
                gap_s = _BETWEEN_SESSIONS_S if session else 0.0
                session, shift_s = one.note.session, end_s + gap_s - one.note.verdict.onset_s
            end_s = one.note.verdict.end_s + shift_s
            yield Sound(one.note.verdict.onset_s + shift_s, end_s, trace.time_s + shift_s, trace.hz)
