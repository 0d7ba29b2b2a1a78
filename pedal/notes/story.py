"""The readings of one note, from pluck to silence -> the finished note."""

from __future__ import annotations

import numpy as np

from pedal.notes.contour import Contour, draw_contour
from pedal.notes.ending import Collapse, find_collapse
from pedal.notes.glide import Glide, trace_glide
from pedal.notes.note import Ending, Note, Refusal, Trace
from pedal.notes.stairs import find_jump
from pedal.notes.vibrato import find_cycles, flatten
from pedal.pitch.reading import Reading

SHORTEST_S = 0.060
FINAL_S = 0.030
SHARP_CENTS = 8.0


def tell_note(onset_s: float, end_s: float, readings: list[Reading], *, stopped: bool, crowded: bool) -> Note:
    """The note of these readings. `stopped`: a new pluck ended it. `crowded`: a second string sounded."""
    whole = draw_contour(readings)
    if whole is None:
        return _refused(onset_s, end_s, None, "no_pitch")
    collapse = find_collapse(np.array([r.heard_s for r in readings]), np.array([r.level_db for r in readings]))
    own = _before(whole, collapse)
    if crowded:
        return _refused(onset_s, end_s, whole, "two_strings")
    if len(own) < 3 or own.time_s[-1] - own.time_s[0] < SHORTEST_S:
        return _refused(onset_s, end_s, whole, "too_short")
    cycles = find_cycles(own)
    flat = flatten(own, cycles) if cycles else own
    glide = trace_glide(flat)
    refusal = _no_bend(own, glide)
    final = float(np.median(own.cents[own.time_s >= own.time_s[-1] - FINAL_S]))
    by_hand = stopped or (collapse is not None and collapse.by_hand)
    return Note(
        onset_s=onset_s,
        end_s=end_s,
        shape="not_a_bend" if refusal else glide.shape,
        rest_hz=None if glide.rest is None else own.hz(glide.rest),
        first_hz=own.hz(glide.first),
        hold_hz=own.hz(glide.hold),
        peak_hz=own.hz(glide.peak),
        final_hz=own.hz(final),
        rise_s=glide.rise_s,
        hold_s=glide.hold_s,
        ending=_ending(glide, final, by_hand=by_hand),
        vibrato=cycles.vibrato if cycles else None,
        refusal=refusal,
        trace=_trace(whole),
    )


def _before(whole: Contour, collapse: Collapse | None) -> Contour:
    """The readings that rest on the string's own sound alone, not on its collapse."""
    return whole if collapse is None else whole.part(whole.heard_s <= collapse.begin_s)


def _no_bend(own: Contour, glide: Glide) -> Refusal | None:
    low = glide.rest if glide.rest is not None else glide.hold
    if glide.shape in ("rise", "rise_fall"):
        return find_jump(own, low, glide.hold)
    if glide.shape == "fall":
        return find_jump(own, low, glide.hold, falling=True)
    return None


def _ending(glide: Glide, final: float, *, by_hand: bool) -> Ending:
    low = glide.rest if glide.rest is not None else glide.hold
    if glide.shape == "rise_fall" or (glide.shape == "fall" and glide.rest is not None):
        return "released"
    if by_hand and glide.shape == "rise" and final - low >= SHARP_CENTS:
        return "cut_sharp"
    return "cut" if by_hand else "rang_out"


def _refused(onset_s: float, end_s: float, whole: Contour | None, refusal: Refusal) -> Note:
    middle = whole.hz(float(np.median(whole.cents))) if whole is not None and refusal == "too_short" else None
    return Note(
        onset_s=onset_s,
        end_s=end_s,
        shape="not_a_bend",
        rest_hz=middle,
        first_hz=middle,
        hold_hz=middle,
        peak_hz=None,
        final_hz=None,
        rise_s=0.0,
        hold_s=0.0,
        ending="cut",
        vibrato=None,
        refusal=refusal,
        trace=_trace(whole),
    )


def _trace(whole: Contour | None) -> Trace:
    if whole is None:
        return Trace(np.zeros(0), np.zeros(0), np.zeros(0))
    return Trace(whole.time_s.copy(), whole.base_hz * 2.0 ** (whole.cents / 1200.0), whole.level_db.copy())
