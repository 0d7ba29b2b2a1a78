"""The readings of one note, from pluck to silence -> the finished note."""

from __future__ import annotations

import numpy as np

from pedal.notes.contour import FURTHEST_CENTS, Contour, draw_contour
from pedal.notes.ending import Collapse, find_collapse
from pedal.notes.glide import Glide, Stand, trace_glide
from pedal.notes.note import Ending, Note, Refusal, Trace
from pedal.notes.stairs import find_stairs
from pedal.notes.vibrato import Cycles, find_cycles, flatten
from pedal.pitch.reading import Reading
from pedal.theory.cents import cents_between

SHORTEST_S = 0.045
"""Less does not show whether the pitch stands. A low string is heard some 40 ms late, so 85 ms of it are enough."""
FINAL_S = 0.030
SHARP_CENTS = 8.0
RAGGED_CENTS = 3.5
"""Successive readings of one string lie on a smooth line within a cent, of two strings or noise they do not."""
LEAVING_CENTS, LEAVING_SHARE = 2.0, 0.01
STILL_BENT_CENTS, SAME_CENTS = 50.0, 40.0
SWING_SHARE = 0.35
LEAST_PITCHED_SHARE = 0.6


def tell_note(
    onset_s: float,
    end_s: float,
    readings: list[Reading],
    *,
    stopped: bool,
    crowded: bool,
    before: Note | None = None,
    root_hz: float = 0.0,
) -> Note:
    """The note of these readings.

    `stopped`: a new pluck ended it. `crowded`: a second string sounded. `before`: the note that its pluck ended.
    `root_hz`: its pitch at the start as the spectrum gave it, 0.0 if it gave none.
    """
    whole = draw_contour(readings, root_hz)
    if crowded:
        return _refused(onset_s, end_s, whole, "two_strings")
    if whole is None:
        return _refused(onset_s, end_s, None, "no_pitch")
    collapse = None if readings[-1].hz > 0.0 else _collapse(readings)
    own = _before(whole, collapse)
    if len(own) < 3 or own.time_s[-1] - own.time_s[0] < SHORTEST_S:
        return _refused(onset_s, end_s, whole, "too_short")
    if _is_doubtful(own):
        return _refused(onset_s, end_s, whole, "no_pitch")
    cycles = find_cycles(own)
    flat = flatten(own, cycles) if cycles else own
    glide = _without_swing(trace_glide(flat), cycles)
    refusal = _no_bend(own, glide)
    final = float(np.median(own.cents[own.time_s >= own.time_s[-1] - FINAL_S]))
    by_hand = stopped or (collapse is not None and collapse.by_hand)
    return Note(
        onset_s=onset_s,
        end_s=end_s,
        shape="not_a_bend" if refusal else glide.shape,
        rest_hz=_still_bent_from(before, own, glide) or (None if glide.rest is None else own.hz(glide.rest.cents)),
        first_hz=own.hz(glide.first.cents),
        hold_hz=own.hz(glide.hold.cents),
        peak_hz=own.hz(glide.peak),
        final_hz=own.hz(final),
        rise_s=_rise_s(own, glide),
        hold_s=_seconds(own, glide.hold),
        ending=_ending(glide, final, by_hand=by_hand),
        vibrato=cycles.vibrato if cycles else None,
        refusal=refusal,
        trace=_trace(whole),
    )


def _collapse(readings: list[Reading]) -> Collapse | None:
    return find_collapse(np.array([r.heard_s for r in readings]), np.array([r.level_db for r in readings]))


def _before(whole: Contour, collapse: Collapse | None) -> Contour:
    """The readings that rest on the string's own sound alone, not on its collapse."""
    return whole if collapse is None else whole.part(whole.heard_s <= collapse.begin_s)


def _without_swing(glide: Glide, cycles: Cycles | None) -> Glide:
    """A note that only swings up from its fret and back is level: one-sided vibrato, not a bend."""
    if cycles is None or glide.rest is None or glide.shape not in ("rise", "rise_fall"):
        return glide
    width, height = cycles.vibrato.width_cents, glide.hold.cents - glide.rest.cents
    swinging = glide.hold.end > cycles.begin and glide.hold.begin < cycles.end
    if not swinging or abs(height - width) > max(SHARP_CENTS, SWING_SHARE * width):
        return glide
    return Glide("level", glide.rest, glide.first, glide.rest, glide.rest.cents)


def _still_bent_from(before: Note | None, own: Contour, glide: Glide) -> float | None:
    """The rest of the note before, if that was still bent when this pluck struck the same string again."""
    if before is None or before.rest_hz is None or before.final_hz is None or glide.shape != "level":
        return None
    bent = cents_between(before.rest_hz, before.final_hz) >= STILL_BENT_CENTS
    same = abs(cents_between(before.final_hz, own.hz(glide.first.cents))) <= SAME_CENTS
    return before.rest_hz if bent and same else None


def _is_doubtful(own: Contour) -> bool:
    """Whether the pitch was too ragged or too seldom heard to be one string's."""
    ragged = float(np.median(np.abs(np.diff(own.cents, 2)))) > RAGGED_CENTS
    pitched = len(own) * own.step_s / float(own.time_s[-1] - own.time_s[0])
    return ragged or pitched < LEAST_PITCHED_SHARE


def _no_bend(own: Contour, glide: Glide) -> Refusal | None:
    if glide.rest is None or glide.rest is glide.hold:
        return None
    earlier, later = sorted((glide.rest, glide.hold), key=lambda stand: stand.begin)
    index = np.arange(len(own))
    way = own.part((index >= earlier.end - 1) & (index <= later.begin))
    low, high = sorted((glide.rest.cents, glide.hold.cents))
    return find_stairs(way, low, high) or ("no_pitch" if high - low > FURTHEST_CENTS else None)


def _rise_s(own: Contour, glide: Glide) -> float:
    """From clearly leaving the rest to all but arriving at the hold."""
    if glide.rest is None or glide.shape not in ("rise", "rise_fall"):
        return 0.0
    low, height = glide.rest.cents, glide.hold.cents - glide.rest.cents
    way = own.cents[glide.rest.begin : glide.hold.end]
    near = max(LEAVING_CENTS, LEAVING_SHARE * height)
    arrived = int(np.argmax(way >= low + height - near))
    left = np.flatnonzero(way[: arrived + 1] < low + near)
    start = int(left[-1]) if len(left) else 0
    return float(own.time_s[glide.rest.begin + arrived] - own.time_s[glide.rest.begin + start])


def _seconds(own: Contour, stand: Stand) -> float:
    return float(own.time_s[stand.end - 1] - own.time_s[stand.begin])


def _ending(glide: Glide, final: float, *, by_hand: bool) -> Ending:
    if glide.shape == "rise_fall" or (glide.shape == "fall" and glide.rest is not None):
        return "released"
    sharp = glide.rest is not None and final - glide.rest.cents >= SHARP_CENTS
    if by_hand and glide.shape == "rise" and sharp:
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
