"""The notes of a review -> a MIDI file, session after session."""

from __future__ import annotations

from collections.abc import Iterator
from typing import BinaryIO

from pedal.app.errors import StoreError
from pedal.app.review.review import Review
from pedal.progress.midi_file import Sound, midi_file

_BETWEEN_SESSIONS_S = 2.0


def save_midi(review: Review, file: BinaryIO) -> int:
    """Write every note whose pitch trace is still there; how many. Raises `StoreError` where none is."""
    sounds = list(_sounds(review))
    if not sounds:
        raise StoreError("No note chosen has its pitch trace: choose other sessions, or play some first.")
    file.write(midi_file(sounds, name="Undertoe"))
    return len(sounds)


def _sounds(review: Review) -> Iterator[Sound]:
    """Times count on through the sessions; within one they are as played."""
    session, shift_s, end_s = 0, 0.0, 0.0
    for at in sorted(review.traces):
        note, trace = review.notes[at], review.traces[at]
        if note.session != session:
            gap_s = _BETWEEN_SESSIONS_S if session else 0.0
            session, shift_s = note.session, end_s + gap_s - note.verdict.onset_s
        end_s = note.verdict.end_s + shift_s
        yield Sound(note.verdict.onset_s + shift_s, end_s, trace.time_s + shift_s, trace.hz)
