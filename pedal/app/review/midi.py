"""The notes of a review -> a MIDI file, session after session."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pedal.app.errors import StoreError
from pedal.app.review.review import Review
from pedal.progress.midi_file import Sound, midi_file

_BETWEEN_SESSIONS_S = 2.0


def save_midi(review: Review, path: Path) -> int:
    """Write every note whose pitch trace is still there; how many. Raises `StoreError`."""
    sounds = list(_sounds(review))
    if not sounds:
        raise StoreError("No note chosen has its pitch trace: choose other sessions, or play some first.")
    try:
        path.write_bytes(midi_file(sounds, name="Undertoe"))
    except OSError as error:
        raise StoreError(f"{path} cannot be written: {error.strerror}.") from error
    return len(sounds)


def _sounds(review: Review) -> Iterator[Sound]:
    """Times count on through the sessions; within one they are as played."""
    session, shift_s, end_s = 0, 0.0, 0.0
    for note in review.notes:
        verdict = note.verdict
        if verdict.trace is None or not len(verdict.trace.hz):
            continue
        if note.session != session:
            session, shift_s = note.session, end_s - verdict.onset_s + (_BETWEEN_SESSIONS_S if session else 0.0)
        end_s = verdict.end_s + shift_s
        trace = verdict.trace
        yield Sound(verdict.onset_s + shift_s, end_s, trace.time_s + shift_s, trace.hz)
