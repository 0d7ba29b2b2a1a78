"""A finished note meets the aim and becomes a verdict: the one place where the kinds are told apart."""

from __future__ import annotations

from pedal.notes.note import Note
from pedal.theory.cents import midi_of
from pedal.verdicts.aim import Aim
from pedal.verdicts.bend import judge_bend
from pedal.verdicts.curl import is_curl, judge_curl
from pedal.verdicts.judgement import Judgement
from pedal.verdicts.measure import Measure, measure
from pedal.verdicts.prebend import is_still_bent, judge_prebend
from pedal.verdicts.refusals import refuse
from pedal.verdicts.verdict import Verdict


def judge(note: Note, aim: Aim) -> Verdict:
    """How true a note was.

    A level note has nothing to judge: its kind is "steady", its word "unclear", its error None. In Blind every note is
    judged as a pre-bend, by the first pitch that stood; without a target only where it was not bent after the pluck.
    """
    heights = measure(note, aim) if note.refusal != "two_strings" else None
    if _may_be_bent(note, heights, aim):
        heights = None
    return _write(note, heights, _find(note, heights, aim), aim)


def _find(note: Note, heights: Measure | None, aim: Aim) -> Judgement:
    if note.refusal is not None:
        return refuse(note.refusal)
    blind = aim.judge_as == "blind" and (aim.target is not None or note.shape == "level")
    if blind or note.shape == "fall" or is_still_bent(note, heights):
        return judge_prebend(note, heights, aim)
    if note.shape == "level" or heights is None:
        return Judgement("steady", "unclear", "A level note: no bend to judge.")
    if is_curl(heights.bend, heights.rest_midi, aim):
        return judge_curl(note, heights, aim)
    return judge_bend(note, heights, aim)


def _may_be_bent(note: Note, heights: Measure | None, aim: Aim) -> bool:
    """Whether a note is an answer in Blind that was never heard to rest: the string stands where it was bent to.

    A note that begins nearer to the fret of the target than to the target was plucked there. Where no fret is named,
    one that rises was not bent before.
    """
    if aim.judge_as != "blind" or note.shape == "fall" or is_still_bent(note, heights):
        return False
    if aim.target is None or note.first_hz is None:
        return note.shape == "level"
    return midi_of(note.first_hz, a4_hz=aim.a4_hz) > (aim.target.rest_midi + aim.target.target_midi) / 2


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
        ending=note.ending,
        vibrato_hz=note.vibrato.rate_hz if note.vibrato else 0.0,
        vibrato_cents=note.vibrato.width_cents if note.vibrato else 0.0,
        verdict=found.word,
        reason=found.reason,
        trace=note.trace,
    )
