"""What is worth keeping of a judged note: the verdict and what was asked."""

from __future__ import annotations

from functools import lru_cache

from pedal.theory.neck import Tuning, TuningError, parse_tuning
from pedal.theory.spelling import NoteNameError, parse_pitch
from pedal.values import frozen
from pedal.verdicts.verdict import Verdict


@frozen
class LogEntry:
    """One line of the log.

    `position` 1 to 5, `string` 1 (highest) up, where the mode knows them; `skipped` has no verdict.
    lick, lick_pass, lick_note, lick_mark : the lick's name, the pass through it and the note of it, both from 1, and
        what the strip showed for it.
    beat_ms : arrival beside the beat, late positive, once it is known what the drivers hide.
    chord : what the pedal's chords played at the onset, such as "C7".
    player : who played, if it is not whoever the log was opened for; another player has another session.
    """

    time_s: float
    mode: str
    key: str
    verdict: Verdict | None
    position: int | None = None
    string: int | None = None
    fret: int | None = None
    target_note: str | None = None
    skipped: bool = False
    drone: bool = False
    a4_hz: float = 440.0
    tuning: str = "E2 A2 D3 G3 B3 E4"
    lick: str | None = None
    lick_pass: int | None = None
    lick_note: int | None = None
    lick_mark: str | None = None
    beat_ms: float | None = None
    chord: str | None = None
    player: str | None = None

    @property
    def asked_semitones(self) -> int | None:
        """From the fret up to the note that was asked for, on the guitar as it was tuned then; None where none was.

        Frets count from the nut, so that a capo has no part in it.
        """
        tuning = _tuning_of(self.tuning)
        if self.target_note is None or self.fret is None or tuning is None:
            return None
        if self.string is None or not 1 <= self.string <= tuning.strings:
            return None
        try:
            return parse_pitch(self.target_note) - tuning.open_midi[self.string - 1] - self.fret
        except NoteNameError:
            return None


@lru_cache(64)
def _tuning_of(words: str) -> Tuning | None:
    """Of a log of years every bend is asked for its tuning, and there are few."""
    try:
        return parse_tuning(words)
    except TuningError:
        return None
