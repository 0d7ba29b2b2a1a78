"""Pre-bends: bent before the pluck, so the first pitch that stands is the answer."""

from __future__ import annotations

from pedal.notes.decoder import HALF_FRET_CENTS
from pedal.notes.note import Note
from pedal.notes.runs import LEAST_RISE_CENTS
from pedal.theory.cents import cents_between, midi_of
from pedal.verdicts.aim import Aim
from pedal.verdicts.bend import aimed_midi, other_note
from pedal.verdicts.curl import OVERDONE_CENTS
from pedal.verdicts.judgement import Judgement, off, unclear, word_for
from pedal.verdicts.measure import Measure, absolute_cents
from pedal.verdicts.verdict import Kind

HEARS_S = 0.100
"""No hand answers to what it hears within this: a pitch that rises sooner was on its way at the pluck."""


def judge_blind(note: Note, heights: Measure | None, aim: Aim) -> Judgement:
    """An answer in Blind: plucked bent, or plucked and only then bent."""
    if _raised_late(note):
        return unclear("Plucked first, then bent: bend first, then pluck.")
    return judge_prebend(note, heights, aim)


def _raised_late(note: Note) -> bool:
    if note.shape not in ("rise", "rise_fall") or note.first_hz is None or note.hold_hz is None:
        return False
    raised = cents_between(note.first_hz, note.hold_hz)
    # Raised by more it was no first pitch: the string was plucked unbent.
    return raised > HALF_FRET_CENTS or note.rest_hz is None or (note.raised_s or 0.0) < HEARS_S


def judge_prebend(note: Note, heights: Measure | None, aim: Aim) -> Judgement:
    """Judged on the first stable pitch: against the rest note if it was heard after the release, else absolutely."""
    first = note.first_hz
    if first is None:
        return unclear("The first pitch never stood still: pluck again.")
    bent_again = is_still_bent(note, heights)
    let_go = note.shape == "fall" and (heights is None or heights.first >= HALF_FRET_CENTS)
    if let_go and heights is not None and heights.rest_midi < aim.lowest_midi:
        heights = None  # no fret lies there
    if aim.judge_as != "blind" and aim.target is None and not bent_again:
        if heights is None:
            return unclear("The pitch came down and was not heard to rest: no bend to judge.")
        if not let_go:
            return Judgement("steady", "unclear", "A level note that came down a little: no bend to judge.")
    kind: Kind = "prebend_release" if let_go and heights is not None else "prebend"
    heard = heights if kind == "prebend_release" or bent_again else None
    if aim.target is not None:
        target = aim.target.target_midi
        away = absolute_cents(first, target, aim)
        way = 100.0 * (target - aim.target.rest_midi)
        if heard is not None and aim.judge_as == "ladder" and heard.rest_midi != aim.target.rest_midi:
            return other_note(heard.rest_midi, aim.target, aim)
        if not -way - OVERDONE_CENTS <= away <= OVERDONE_CENTS:
            played = aim.key.spell(round(midi_of(first, a4_hz=aim.a4_hz)))
            return unclear(f"{played} was played: the target is {aim.key.spell(target)}.")
        if away < -way / 2:
            rest = aim.key.spell(aim.target.rest_midi)
            return unclear(f"{rest} was plucked before it was bent: bend first, then pluck.")
        if heard is not None and heard.rest_midi != aim.target.rest_midi:
            heard = None
    elif heard is not None:
        target = aimed_midi(heard.first, heard.rest_midi, aim)
    else:
        target = _nearest_scale_note(first, aim)
    absolute = absolute_cents(first, target, aim)
    error = heard.first - 100.0 * (target - heard.rest_midi) if heard is not None else absolute
    bands = aim.bands.against_drone() if aim.drone else aim.bands
    word = word_for(error, true_cents=bands.true_cents, near_cents=bands.near_cents)
    reason = f"Pre-bend to {aim.key.spell(target)}: {off(error)}{_later(note, kind, absolute, target, aim)}."
    return Judgement(kind, word, reason, target, error, absolute)


def _later(note: Note, kind: Kind, absolute: float, target: int, aim: Aim) -> str:
    """What became of the first pitch, in words."""
    if kind == "prebend_release":
        return ", then released"
    if note.mend is None:
        return ""
    after = absolute_cents(note.mend.hz, target, aim)
    return f", mended in {note.mend.after_s:.1f} s" if abs(after) < abs(absolute) - LEAST_RISE_CENTS else ""


def is_still_bent(note: Note, heights: Measure | None) -> bool:
    """Whether the string was struck again while bent: level, but above a rest that the note before had."""
    return note.shape == "level" and heights is not None and heights.bend >= HALF_FRET_CENTS


def _nearest_scale_note(hz: float, aim: Aim) -> int:
    midi = midi_of(hz, a4_hz=aim.a4_hz)
    return min((m for m in range(round(midi) - 6, round(midi) + 7) if aim.key.contains(m)), key=lambda m: abs(m - midi))
