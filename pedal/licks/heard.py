"""Verdict -> one heard note of a pass, with its pitches as numbers; and heard notes -> the model they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from pedal.licks.lick import (
    CURL_LEAST_CENTS,
    CURL_MOST_CENTS,
    FEWEST,
    LONGEST_S,
    MOST,
    MOST_BEATS,
    OFF_MOST_CENTS,
    Inflection,
    Lick,
    LickEnding,
    LickError,
    LickNote,
)
from pedal.notes.note import BegunBy, Ending
from pedal.theory.neck import STANDARD, Tuning
from pedal.theory.scale import Key
from pedal.theory.spelling import parse_pitch
from pedal.values import frozen
from pedal.verdicts.aim import Bands
from pedal.verdicts.judgement import word_for
from pedal.verdicts.verdict import Kind, Verdict, Word

USUAL_BANDS = Bands()
SPURIOUS_S = 0.06
"""What has no pitch and is so short is a touch of the pick or a finger that leaves: no note of a lick."""
REST_S = 0.08
"""A silence this long between two notes was meant; a shorter one is a pick that damped the string."""
VAGUE_SHARE = 0.2
"""A model with more notes than this share whose pitch was not clear was chords, or noise; fewer are left out."""
_LENGTHS_TO = 0.001
"""Lengths are written in thousandths of a beat, and none is shorter."""
_GRID = (1.0, 2.0, 3.0, 4.0)
_BEAT_LEAST_S, _BEAT_MOST_S = 0.4, 1.2


@frozen
class HeardNote:
    """What the matcher needs of a verdict. `midi` is the fretted note, None where none was heard."""

    onset_s: float
    end_s: float
    midi: int | None
    target_midi: int | None
    kind: Kind
    word: Word
    bend_cents: float | None
    error_cents: float | None
    rest_cents: float | None
    ending: Ending
    begun_by: BegunBy = "pluck"
    vibrato_hz: float = 0.0
    vibrato_cents: float = 0.0

    @property
    def inflected(self) -> bool:
        """Whether it was bent on purpose or by accident."""
        return self.kind in ("curl", "bend", "bend_release", "prebend", "prebend_release")

    @property
    def sounds(self) -> tuple[int, ...]:
        """The notes that were heard in turn, as `LickNote.sounds`; empty where nothing has a name."""
        midi, target = self.midi, self.target_midi
        if self.kind in ("bend", "bend_release") and target is not None and midi is not None:
            return (midi, target, midi) if self.kind == "bend_release" else (midi, target)
        if self.kind == "prebend_release" and target is not None and midi is not None:
            return (target, midi)
        if self.kind == "prebend" and target is not None:
            return (target,)
        return () if midi is None else (midi,)


def heard_note(verdict: Verdict, *, bands: Bands = USUAL_BANDS) -> HeardNote | None:
    """The note of a verdict; None of what was too short and too vague to be one.

    bands : by which a bend to a note outside the key is true or near: a lick may have one, though nothing else asks for
        it.
    """
    note = HeardNote(
        verdict.onset_s,
        verdict.end_s,
        None if verdict.rest_note is None else parse_pitch(verdict.rest_note),
        None if verdict.target_note is None else parse_pitch(verdict.target_note),
        verdict.kind,
        verdict.verdict,
        verdict.bend_cents,
        verdict.error_cents,
        verdict.rest_cents,
        verdict.ending,
        verdict.begun_by,
        verdict.vibrato_hz,
        verdict.vibrato_cents,
    )
    if note.kind in ("bend", "bend_release") and note.target_midi is None:
        note = to_its_semitone(note, bands)
    vague = not note.sounds and note.end_s - note.onset_s < SPURIOUS_S
    return None if vague else note


def to_its_semitone(note: HeardNote, bands: Bands) -> HeardNote:
    """A bend that the judge took to no note of the key: it went to the semitone that he named, or that is asked for."""
    if note.midi is None or note.bend_cents is None:
        return note
    steps = round(note.bend_cents / 100.0)
    error = note.bend_cents - 100.0 * steps
    word = word_for(error, true_cents=bands.true_cents, near_cents=bands.near_cents)
    return replace(note, target_midi=note.midi + steps, error_cents=error, word=word) if steps else note


def vague_in(notes: Sequence[HeardNote]) -> int:
    """How many notes had no clear pitch."""
    return sum(not note.sounds for note in notes)


def model_of(notes: Sequence[HeardNote], key: Key, *, tuning: Tuning = STANDARD, name: str = "") -> Lick:
    """The lick that was played, by the name `name`. A note in five without a clear pitch is left out; more refuse it.

    Raises
    ------
    LickError
        For fewer than 2 or more than 24 notes, more than 15 s, and notes without a pitch (chords, noise), with what to
        do about it.
    """
    if not notes:
        raise LickError("no note was heard: play 2 to 24 single notes")
    vague = vague_in(notes)
    if vague > VAGUE_SHARE * len(notes):
        what = "a note had" if vague == 1 else f"{vague} notes had"
        raise LickError(f"{what} no clear pitch: play single notes, one string at a time")
    notes = [note for note in notes if note.sounds]
    if len(notes) > MOST:
        raise LickError(f"a lick of {len(notes)} notes is too long: give {FEWEST} to {MOST}")
    gaps = [later.onset_s - one.onset_s for one, later in pairwise(notes)]
    beat_s = _beat_of(gaps)
    made = [_made(note, gap_s, beat_s) for note, gap_s in zip(notes, gaps, strict=False)]
    # What is left for the last note is counted after the rounding of all others, and leaves room for its own.
    left_s = LONGEST_S - beat_s * (sum(note.beats + note.rest_beats for note in made) + _LENGTHS_TO)
    if left_s <= 0.0:
        raise LickError(f"it was longer than {LONGEST_S:g} s: play a shorter lick")
    made.append(_made(notes[-1], min(left_s, notes[-1].end_s - notes[-1].onset_s), beat_s))
    return Lick(tuple(made), key, 60.0 / beat_s, tuning, name)


def _made(note: HeardNote, gap_s: float, beat_s: float) -> LickNote:
    sounding_s = min(gap_s, note.end_s - note.onset_s)
    if gap_s - sounding_s < REST_S:
        sounding_s = gap_s
    inflection, midi, target, cents = _inflection_of(note)
    ending: LickEnding = "ring" if note.ending == "rang_out" else "cut"
    if inflection != "plain" and (note.ending == "released" or note.kind in ("bend_release", "prebend_release")):
        ending = "release"
    return LickNote(
        midi,
        _rounded(sounding_s / beat_s) or _LENGTHS_TO,
        _rounded((gap_s - sounding_s) / beat_s),
        inflection,
        target,
        cents,
        ending,
        round(note.vibrato_hz, 1),
        round(note.vibrato_cents),
        note.begun_by,
    )


def _inflection_of(note: HeardNote) -> tuple[Inflection, int, int | None, float]:
    """What was done, from which note, to which, and how many cents high or off."""
    midi, target = note.midi, note.target_midi
    if note.kind == "curl" and midi is not None:
        height = round(note.bend_cents or 0.0)
        if CURL_LEAST_CENTS <= height <= CURL_MOST_CENTS:
            return "curl", midi, None, float(height)
    elif midi is not None and target is not None and 1 <= target - midi <= 5:
        off = float(max(-OFF_MOST_CENTS, min(OFF_MOST_CENTS, round(note.error_cents or 0.0))))
        if note.kind in ("bend", "bend_release"):
            return "bend", midi, target, off
        if note.kind in ("prebend", "prebend_release"):
            return "prebend", midi, target, off
    return "plain", note.sounds[0], None, 0.0


def _beat_of(gaps_s: Sequence[float]) -> float:
    """The beat into whose quarters and thirds the gaps fall best; among equals the one nearest to 0.67 s (90)."""
    if not gaps_s:
        return 60.0 / 90.0
    candidates = [gap * share for gap in gaps_s for share in (0.5, 1.0, 1.5, 2.0, 3.0, 4.0)]
    held = [beat for beat in candidates if _BEAT_LEAST_S <= beat <= _BEAT_MOST_S] or [60.0 / 90.0]

    def price(beat_s: float) -> float:
        off = sum(min(abs(gap / beat_s * grid - round(gap / beat_s * grid)) / grid + 0.02 * grid for grid in _GRID)
                  for gap in gaps_s)  # fmt: skip
        return off / len(gaps_s) + 0.05 * abs(beat_s - 60.0 / 90.0)

    return min(held, key=price)


def _rounded(beats: float) -> float:
    return min(MOST_BEATS, round(beats, 3))
