"""A finished note meets the aim and becomes a verdict: the one place where the kinds are told apart."""

from __future__ import annotations

from dataclasses import replace

from pedal.notes.decoder import HALF_FRET_CENTS
from pedal.notes.note import Note
from pedal.notes.runs import LEAST_RISE_CENTS, creeps
from pedal.theory.force import SEMITONES_MOST
from pedal.theory.neck import LOWEST_HEARD
from pedal.verdicts.aim import Aim
from pedal.verdicts.bend import judge_bend
from pedal.verdicts.curl import is_curl, judge_curl
from pedal.verdicts.fret import GuitarOffset, is_picks_noise
from pedal.verdicts.judgement import TOO_LOW, Judgement, refuse, unclear
from pedal.verdicts.measure import Measure, measure
from pedal.verdicts.prebend import is_still_bent, judge_blind, judge_prebend
from pedal.verdicts.verdict import Verdict


def judge(note: Note, aim: Aim, guitar: GuitarOffset | None = None) -> Verdict:
    """How true a note was, on a guitar whose own offset is known as far as it was learned.

    A level note has nothing to judge: its kind is "steady", its word "unclear", its error None. In Blind a plucked
    note is judged as a pre-bend, by the first pitch that stood; one that was begun otherwise as anywhere else.
    """
    guitar = guitar or GuitarOffset()
    if is_picks_noise(note, aim, guitar):
        note = replace(note, shape="level", rest_hz=note.hold_hz, first_hz=note.hold_hz)
    heights = measure(note, aim, guitar) if note.refusal != "two_strings" else None
    found = _find(note, heights, aim)
    if _stands_bent(note, heights, found):
        heights = None
    return _write(note, heights, found, aim)


def _find(note: Note, heights: Measure | None, aim: Aim) -> Judgement:
    if note.refusal is not None:
        return unclear(TOO_LOW) if _may_be_too_low(note, aim) else refuse(note.refusal)
    if note.accompanied:
        return Judgement("steady", "unclear", "A level note, with another string sounding: no bend to judge.")
    if aim.judge_as == "blind" and note.begun_by == "pluck":
        return judge_blind(note, heights, aim)
    if note.shape == "fall" or is_still_bent(note, heights):
        return judge_prebend(note, heights, aim)
    if note.shape == "level" or heights is None or heights.bend < LEAST_RISE_CENTS or creeps(heights.bend, note.rise_s):
        return Judgement("steady", "unclear", "A level note: no bend to judge.")
    if heights.bend > 100.0 * SEMITONES_MOST + HALF_FRET_CENTS:
        return unclear("The pitch rose further than a finger bends: another string, or a slip of the ear.")
    if is_curl(heights.bend, heights.rest_midi, aim):
        return judge_curl(note, heights, aim)
    if note.shape == "rise" and not note.hold_s and heights.bend - heights.final > LEAST_RISE_CENTS:
        return unclear("The bend never stood: hold it a little longer.")
    return judge_bend(note, heights, aim)


def _may_be_too_low(note: Note, aim: Aim) -> bool:
    """Whether nothing had a pitch, on a neck that goes below what is heard: the ear may take such a string for two."""
    return aim.lowest_midi < LOWEST_HEARD and not note.trace.hz.size


def _stands_bent(note: Note, heights: Measure | None, found: Judgement) -> bool:
    """Whether a note is an answer in Blind that was never heard to rest: the string stands where it was bent to."""
    return found.kind == "prebend" and note.shape != "fall" and not is_still_bent(note, heights)


def _write(note: Note, heights: Measure | None, found: Judgement, aim: Aim) -> Verdict:
    bent = heights is not None and note.refusal is None
    target = found.target_midi
    return Verdict(
        onset_s=note.onset_s,
        end_s=note.end_s,
        rest_note=aim.key.spell(heights.rest_midi) if heights else None,
        rest_cents=heights.rest_cents if heights else None,
        degree=aim.key.degree_of(heights.rest_midi) if heights else None,
        shape=note.shape,
        kind=found.kind,
        target_note=None if target is None else aim.key.spell(target),
        target_degree=None if target is None else aim.key.degree_of(target),
        bend_cents=heights.bend if heights and bent else None,
        error_cents=found.error_cents,
        absolute_cents=found.absolute_cents,
        peak_cents=heights.peak if heights and bent else None,
        overshoot_cents=max(0.0, heights.peak - heights.bend) if heights and bent else None,
        rise_s=note.rise_s if bent and note.shape in ("rise", "rise_fall") else None,
        hold_s=note.hold_s if note.refusal is None else None,
        final_cents=heights.final if heights and bent else None,
        ending="cut" if found.kind == "steady" and note.ending == "cut_sharp" else note.ending,
        vibrato_hz=note.vibrato.rate_hz if note.vibrato else 0.0,
        vibrato_cents=note.vibrato.width_cents if note.vibrato else 0.0,
        rest_heard=heights is not None and heights.rest_heard,
        begun_by=note.begun_by,
        vibrato_side=note.vibrato.side if note.vibrato else None,
        vibrato_evenness=note.vibrato.evenness if note.vibrato else None,
        verdict=found.word,
        reason=found.reason,
        trace=note.trace,
    )
