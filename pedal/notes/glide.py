"""Contour without vibrato -> where it rested, where it held, and its shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pedal.notes.contour import Contour, Floats, running_median
from pedal.notes.note import Shape

LEAST_RISE_CENTS = 8.0
"""Below this a rise cannot be told from fretting scatter and a hard pluck's settling (docs/sources.md)."""
LEAST_FALL_CENTS = 15.0
"""A hard pluck starts sharp and settles by less than this: physics, not a release."""
RELEASED_SHARE = 0.5
"""A bend whose last pitch lies below this share of its height was released."""
FLAT_WINDOW_S = 0.080
FIRST_WINDOW_S = 0.050
FIRST_WITHIN_S = 0.250
STEADY_CENTS = 6.0
"""A window that spans no more than this stands still."""
UPPER_SHARE = 0.6
LEVEL_BAND_CENTS = 4.0


@dataclass(frozen=True, slots=True)
class Glide:
    """Heights in cents on the contour, None for a part that never came; durations in seconds."""

    shape: Shape
    rest: float | None
    first: float
    hold: float
    peak: float
    rise_s: float
    hold_s: float


@dataclass(frozen=True, slots=True)
class Stand:
    """A stretch where the pitch stands: readings `begin` to `end` (open), its height, how far it spans."""

    begin: int
    end: int
    cents: float
    span: float


def trace_glide(contour: Contour) -> Glide:
    """The course of the pitch of one note; at least one reading."""
    cents = running_median(contour.cents, 5)
    first = _first_stand(contour, cents)
    top, bottom = _extremes(cents[first.begin :])
    up, down = top - first.cents, first.cents - bottom
    if down >= LEAST_FALL_CENTS and down > up:
        return _falling(contour, cents, first, top, bottom)
    if up >= LEAST_RISE_CENTS:
        return _rising(contour, cents, first, top)
    return _level(contour, cents, first)


def _level(contour: Contour, cents: Floats, first: Stand) -> Glide:
    stand = _widen(cents, flattest(contour, cents, first.begin, len(cents)), first.begin, len(cents), LEAST_RISE_CENTS)
    return Glide("level", stand.cents, first.cents, stand.cents, stand.cents, 0.0, _seconds(contour, stand))


def _rising(contour: Contour, cents: Floats, first: Stand, top: float) -> Glide:
    middle = first.cents + 0.5 * (top - first.cents)
    crossing = first.begin + int(np.argmax(cents[first.begin :] > middle))
    rest = _rest_before(contour, cents, first, crossing)
    hold = _upper_stand(contour, cents, crossing, rest.cents, top)
    height = hold.cents - rest.cents
    final = float(np.median(cents[-_readings(contour, 0.030) :]))
    after = cents[hold.begin :]
    fell = final < rest.cents + RELEASED_SHARE * height and float(after.max()) - final >= LEAST_RISE_CENTS
    return Glide(
        "rise_fall" if fell else "rise",
        rest.cents,
        first.cents,
        hold.cents,
        max(top, hold.cents),
        _rise_time(contour, cents, rest, hold),
        _seconds(contour, hold),
    )


def _falling(contour: Contour, cents: Floats, first: Stand, top: float, bottom: float) -> Glide:
    hold = _upper_stand(contour, cents, first.begin, bottom, top)
    low = np.flatnonzero(cents[hold.begin :] < bottom + (1 - UPPER_SHARE) * (top - bottom)) + hold.begin
    rest = None
    if len(low):
        stand = flattest(contour, cents, int(low[0]), int(low[-1]) + 1)
        if stand.span <= STEADY_CENTS and _seconds(contour, stand) >= 0.5 * FLAT_WINDOW_S:
            rest = _widen(cents, stand, int(low[0]), int(low[-1]) + 1, LEVEL_BAND_CENTS).cents
    return Glide("fall", rest, first.cents, hold.cents, max(top, hold.cents), 0.0, _seconds(contour, hold))


def _first_stand(contour: Contour, cents: Floats) -> Stand:
    """The first pitch that stands: the earliest quiet window, else the quietest of the beginning."""
    width = _readings(contour, FIRST_WINDOW_S)
    until = min(len(cents), _readings(contour, FIRST_WITHIN_S) + width)
    for begin in range(0, until - width + 1):
        if np.ptp(cents[begin : begin + width]) <= STEADY_CENTS:
            return Stand(begin, begin + width, float(np.mean(cents[begin : begin + width])), 0.0)
    return flattest(contour, cents, 0, until, FIRST_WINDOW_S)


def _rest_before(contour: Contour, cents: Floats, first: Stand, crossing: int) -> Stand:
    stand = flattest(contour, cents, first.begin, max(first.begin + 1, crossing))
    return _widen(cents, stand, first.begin, max(first.begin + 1, crossing), LEVEL_BAND_CENTS)


def _upper_stand(contour: Contour, cents: Floats, begin: int, low: float, top: float) -> Stand:
    """The flattest stretch of the first stay in the upper part of the motion."""
    above = cents > low + UPPER_SHARE * (top - low)
    start = begin + int(np.argmax(above[begin:]))
    gone = np.flatnonzero(cents[start:] < low + 0.5 * (top - low))
    end = start + int(gone[0]) if len(gone) else len(cents)
    above_end = start + int(np.flatnonzero(above[start:end])[-1]) + 1
    return _widen(cents, flattest(contour, cents, start, above_end), start, above_end, LEVEL_BAND_CENTS)


def flattest(contour: Contour, cents: Floats, begin: int, end: int, window_s: float = FLAT_WINDOW_S) -> Stand:
    """The window between two readings over which the pitch spans least."""
    width = min(_readings(contour, window_s), end - begin)
    windows = np.lib.stride_tricks.sliding_window_view(cents[begin:end], width)
    spans = np.ptp(windows, axis=1)
    at = int(np.argmin(spans))
    return Stand(begin + at, begin + at + width, float(np.mean(windows[at])), float(spans[at]))


def _widen(cents: Floats, stand: Stand, begin: int, end: int, band: float) -> Stand:
    """The stand with all neighbours that stay within the band of its height."""
    a, b = stand.begin, stand.end
    while a > begin and abs(cents[a - 1] - stand.cents) <= band:
        a -= 1
    while b < end and abs(cents[b] - stand.cents) <= band:
        b += 1
    return Stand(a, b, float(np.median(cents[a:b])), stand.span)


def _extremes(cents: Floats) -> tuple[float, float]:
    width = min(7, len(cents))
    smooth = np.convolve(cents, np.full(width, 1 / width), mode="valid")
    return float(smooth.max()), float(smooth.min())


def _rise_time(contour: Contour, cents: Floats, rest: Stand, hold: Stand) -> float:
    """Seconds from one tenth to nine tenths of the height, stretched to the whole way."""
    height = hold.cents - rest.cents
    way = cents[rest.begin : hold.end]
    left = rest.begin + int(np.argmax(way > rest.cents + 0.9 * height))
    before = np.flatnonzero(cents[rest.begin : left + 1] < rest.cents + 0.1 * height)
    start = rest.begin + int(before[-1]) if len(before) else rest.begin
    return max(0.0, float(contour.time_s[left] - contour.time_s[start]) / 0.8)


def _seconds(contour: Contour, stand: Stand) -> float:
    return float(contour.time_s[stand.end - 1] - contour.time_s[stand.begin])


def _readings(contour: Contour, seconds: float) -> int:
    return max(3, round(seconds / contour.step_s)) if contour.step_s > 0 else 3
