"""Contour without vibrato -> where it rested, where it held, and its shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pedal.notes.contour import Contour, Floats, running_median
from pedal.notes.note import Shape
from pedal.notes.settling import settled

LEAST_RISE_CENTS = 8.0
"""Below this a rise cannot be told from fretting scatter and a hard pluck's settling (docs/sources.md)."""
LEAST_FALL_CENTS = 15.0
"""A hard pluck starts sharp and settles by less than this: physics, not a release."""
RELEASED_SHARE = 0.5
"""A bend whose last pitch lies below this share of its height was released."""
WINDOW_S = 0.080
FIRST_WITHIN_S = 0.300
"""The hand answers to what it hears after some 200 ms at the soonest: until then the pitch is what was plucked."""
BRIEF_S, ELSEWHERE_CENTS = 0.025, 40.0
STEADY_CENTS = 6.0
"""A window that spans no more than this stands still."""
REST_SHARE, UPPER_SHARE = 0.3, 0.6
"""The note rests until it has gone so far, and holds where it has gone further than that."""
BAND_CENTS, BAND_SHARE, LEAST_BAND_CENTS = 4.0, 0.1, 1.5
"""A stand goes on while the pitch stays so near its height; the less was bent, the nearer."""
LEVEL_BAND_CENTS = 8.0


@dataclass(frozen=True, slots=True)
class Stand:
    """A stretch where the pitch stands: readings `begin` to `end` (open), its height, how far its core spans."""

    begin: int
    end: int
    cents: float
    span: float


@dataclass(frozen=True, slots=True)
class Glide:
    """The stands of a note on its contour, and `peak` (cents); `rest` is None if it never rested."""

    shape: Shape
    rest: Stand | None
    first: Stand
    hold: Stand
    peak: float


def trace_glide(contour: Contour) -> Glide:
    """The course of the pitch of one note; at least one reading."""
    cents = running_median(contour.cents, 5)
    rough = _course(contour, cents)
    early = rough.first if rough.rest is None or rough.shape == "fall" else rough.rest
    return _course(contour, settled(contour.time_s, cents, early.begin, early.end))


def _course(contour: Contour, cents: Floats) -> Glide:
    first = _first_stand(contour, cents)
    top, bottom = _extremes(cents[first.begin :])
    up, down = top - first.cents, first.cents - bottom
    if down >= LEAST_FALL_CENTS and down > up:
        return _falling(contour, cents, first, top, bottom)
    if up >= LEAST_RISE_CENTS:
        return _rising(contour, cents, first, top)
    stand = flattest(contour, cents, first.begin, len(cents))
    stand = _widened(cents, stand, first.begin, len(cents), LEVEL_BAND_CENTS)
    return Glide("level", stand, first, stand, stand.cents)


def _rising(contour: Contour, cents: Floats, first: Stand, top: float) -> Glide:
    band = _band(top - first.cents)
    leaving = max(first.begin + 1, _first_above(cents, first.begin, first.cents + REST_SHARE * (top - first.cents)))
    rest = _widened(cents, flattest(contour, cents, first.begin, leaving), first.begin, leaving, band)
    hold = _upper_stand(contour, cents, leaving, rest.cents, top)
    final = float(np.median(cents[-readings_in(contour, 0.030) :]))
    fall = float(cents[hold.begin :].max()) - final
    fell = final < rest.cents + RELEASED_SHARE * (hold.cents - rest.cents) and fall >= LEAST_RISE_CENTS
    return Glide("rise_fall" if fell else "rise", rest, first, hold, max(top, hold.cents))


def _falling(contour: Contour, cents: Floats, first: Stand, top: float, bottom: float) -> Glide:
    hold = _upper_stand(contour, cents, first.begin, bottom, top)
    low = np.flatnonzero(cents[hold.begin :] < bottom + (1 - UPPER_SHARE) * (top - bottom)) + hold.begin
    rest = None
    if len(low):
        begin, end = int(low[0]), int(low[-1]) + 1
        stand = flattest(contour, cents, begin, end)
        if stand.span <= STEADY_CENTS and stand.end - stand.begin >= readings_in(contour, 0.5 * WINDOW_S):
            rest = _widened(cents, stand, begin, end, BAND_CENTS)
    return Glide("fall", rest, first, hold, max(top, hold.cents))


def _first_stand(contour: Contour, cents: Floats) -> Stand:
    """The flattest window of the beginning, or an earlier, shorter one where the pitch clearly stood elsewhere."""
    until = max(1, int(np.searchsorted(contour.time_s, contour.time_s[0] + FIRST_WITHIN_S)))
    first = _widened(cents, flattest(contour, cents, 0, until), 0, until, BAND_CENTS)
    brief = readings_in(contour, BRIEF_S)
    if first.begin >= brief:
        earlier = flattest(contour, cents, 0, first.begin, BRIEF_S)
        if earlier.span <= STEADY_CENTS and abs(earlier.cents - first.cents) >= ELSEWHERE_CENTS:
            return _widened(cents, earlier, 0, first.begin, BAND_CENTS)
    return first


def _upper_stand(contour: Contour, cents: Floats, begin: int, low: float, top: float) -> Stand:
    """The flattest stretch of the first stay in the upper part of the motion."""
    start = _first_above(cents, begin, low + UPPER_SHARE * (top - low))
    gone = np.flatnonzero(cents[start:] < low + 0.5 * (top - low))
    end = start + int(gone[0]) if len(gone) else len(cents)
    end = start + int(np.flatnonzero(cents[start:end] >= low + UPPER_SHARE * (top - low))[-1]) + 1
    return _widened(cents, flattest(contour, cents, start, end), start, end, _band(top - low))


def _first_above(cents: Floats, begin: int, height: float) -> int:
    return begin + int(np.argmax(cents[begin:] >= height))


def flattest(contour: Contour, cents: Floats, begin: int, end: int, window_s: float = WINDOW_S) -> Stand:
    """The window between two readings over which the pitch spans least."""
    width = min(readings_in(contour, window_s), end - begin)
    windows = np.lib.stride_tricks.sliding_window_view(cents[begin:end], width)
    spans = np.ptp(windows, axis=1)
    at = int(np.argmin(spans))
    return Stand(begin + at, begin + at + width, float(np.mean(windows[at])), float(spans[at]))


def _widened(cents: Floats, stand: Stand, begin: int, end: int, band: float) -> Stand:
    """The stand with all neighbours that stay within the band of its height."""
    a, b = stand.begin, stand.end
    while a > begin and abs(cents[a - 1] - stand.cents) <= band:
        a -= 1
    while b < end and abs(cents[b] - stand.cents) <= band:
        b += 1
    return Stand(a, b, float(np.mean(cents[a:b])), stand.span)


def _band(height: float) -> float:
    return min(BAND_CENTS, max(LEAST_BAND_CENTS, BAND_SHARE * height))


def _extremes(cents: Floats) -> tuple[float, float]:
    width = min(7, len(cents))
    smooth = np.convolve(cents, np.full(width, 1 / width), mode="valid")
    return float(smooth.max()), float(smooth.min())


def readings_in(contour: Contour, seconds: float) -> int:
    """So many readings make up so many seconds of this contour; at least 3."""
    return max(3, round(seconds / contour.step_s)) if contour.step_s > 0 else 3
