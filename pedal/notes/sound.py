"""Level of a note -> until when it was the string's own, and whether a hand ended it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.notes.decoder import BIN_S, STAND_BINS
from pedal.notes.middle import middle
from pedal.notes.runs import LEAST_FALL_CENTS, PASSING_S
from pedal.notes.strikes import APART_S
from pedal.values import frozen

Floats = NDArray[np.float64]

CUT_DB = 12.0
"""A hand takes a string down by so much within `PASSING_S`, and it never comes back."""
OWN_DB = 5.0
"""A string that fell by as much in the time before was fading by itself."""
BREAK_DB, STEADY_DB = 6.0, 1.5
"""In a room, or behind an effect that rings on, a stopped string leaves an echo: its level breaks for good, in the time
of a touch."""
ECHO_DOUBT = 5.0
"""By so many times more than before the ear doubts the moment in which a wave is stopped, and all that it hears from
then on: an echo is many waves at once. A finger's bend is doubted while it moves, and no longer."""
TRUST_DB = 4.0
"""Its pitch is its own until it has fallen by so much."""
FADED_DB = 36.0


@frozen
class OwnSound:
    """`until_s`: readings heard by then rest on the string's own sound. `by_hand`: stopped, not rung out."""

    until_s: float
    by_hand: bool


def own_sound(
    heard_s: Floats,
    level_db: Floats,
    clear_db: Floats,
    hz: Floats,
    confidence: Floats,
    *,
    silent: bool,
    struck: bool = False,
) -> OwnSound:
    """Where the string's own sound ends.

    Parameters
    ----------
    heard_s : float64 array
        Times of a note's readings, from its onset to well into the silence that follows, if one does.
    level_db, clear_db : float64 arrays of the same length
        Their levels, dBFS, and how far the string stands out of silence: hum hides the first, not the second.
    hz, confidence : float64 arrays of the same length
        Their pitches, 0 where none was heard, and how alike one period was to the next, 0 to 1.
    silent : bool
        Whether no pitch is left at the end: what sounds there is silence, or hum and hiss.
    struck : bool
        Whether the next pluck ended it: then its end is the string's own, and says nothing of silence.
    """
    if len(heard_s) < 8:
        return OwnSound(float(heard_s[-1]) if len(heard_s) else 0.0, by_hand=False)
    step = middle(np.diff(heard_s))
    # A string, and hum of 50 Hz, is loud once a period, which is no longer than the shortest stand.
    width, span = max(1, round(STAND_BINS * BIN_S / step)), max(1, round(PASSING_S / step))
    envelope = _loudest(level_db, width)
    cut = _cut(envelope, span, least=CUT_DB, before=OWN_DB, after=span)
    brief = max(1, round(APART_S / step))
    stopped = _cut(envelope, brief, least=BREAK_DB, before=STEADY_DB, after=2 * span)
    if stopped is not None and (cut is None or stopped < cut):
        cut = stopped
    echo = _into_an_echo(envelope, hz, 1.0 - confidence, brief, span)
    if echo is not None and (cut is None or echo < cut - width):
        return OwnSound(float(heard_s[echo]), by_hand=True)
    faded = envelope.max() - FADED_DB
    if cut is not None:
        cut = min(cut, int(np.flatnonzero(envelope > faded)[-1]))
        return OwnSound(float(heard_s[max(0, cut - width + 1)]), by_hand=True)
    if silent:
        cut = _cut(_loudest(clear_db, width), span, least=CUT_DB, before=2 * STEADY_DB, floor=0.0)
        if cut is not None:
            late = 2 * width  # the ear weighs its partials as seldom while nothing moves
            return OwnSound(float(heard_s[max(0, cut - late + 1)]), by_hand=True)
    floor = faded if struck else max(float(envelope[-span:].min()) + CUT_DB, faded)
    if envelope[-1] > floor or envelope.max() <= floor:
        return OwnSound(float(heard_s[-1]), by_hand=False)
    return OwnSound(float(heard_s[int(np.flatnonzero(envelope > floor)[-1])]), by_hand=False)


def _cut(
    envelope: Floats, span: int, *, least: float, before: float, after: int = 0, floor: float | None = None
) -> int | None:
    """The last reading of a string's own before the first of `_falls`; None if there is none."""
    at = _falls(envelope, span, least=least, before=before, after=after, floor=floor)
    if not len(at):
        return None
    own = np.flatnonzero(envelope[: at[0] + span + 1] > envelope[at[0]] - TRUST_DB)
    return int(own[-1])


def _falls(
    envelope: Floats, span: int, *, least: float, before: float, after: int, floor: float | None = None
) -> NDArray[np.int_]:
    """The readings from which on a level falls for good by `least` dB within `span` readings, or down to `floor`.

    Only where less than `before` dB were lost in the `span` readings before, and not in the first `after`.
    """
    n = len(envelope)
    later = np.maximum.accumulate(envelope[::-1])[::-1]
    later = np.concatenate([later[span:], np.full(min(span, n), later[-1])])[:n]
    earlier = np.concatenate([np.full(min(span, n), envelope[0]), envelope])[:n]
    fell = envelope - later >= least
    if floor is not None:  # into noise a string has less far to fall
        fell |= (envelope >= floor + OWN_DB) & (later <= floor + 1.0)
    return np.flatnonzero(fell[after:] & (earlier - envelope < before)[after:]) + after


def _into_an_echo(envelope: Floats, hz: Floats, doubt: Floats, brief: int, span: int) -> int | None:
    """The last reading before a small break of the level, from which on the ear doubts more that it hears the same."""
    # A loud echo, a third of the sound, leaves half of a break.
    for at in _falls(envelope, brief, least=0.5 * BREAK_DB, before=STEADY_DB, after=2 * span):
        before, later = slice(at - span, at), slice(at + 2 * brief, None)
        if len(hz[later]) < 4 * span:  # what is over so soon is the stop itself
            break
        least = ECHO_DOUBT * middle(doubt[before])
        stopped = np.flatnonzero(doubt[at : at + 2 * brief] > least)
        if not len(stopped):
            continue
        was, goes_on = (part[part > 0.0] for part in (hz[before], hz[later]))
        if not len(was) or len(goes_on) < 4 * span:
            continue
        away = 1200.0 * np.abs(np.log2(goes_on / middle(was)))
        if middle(doubt[later]) > least and middle(away) <= LEAST_FALL_CENTS:  # a finger moves it further
            return int(at + stopped[0] - 1)
    return None


def _loudest(level_db: Floats, width: int) -> Floats:
    """The loudest of the last `width` readings, single clicks ignored."""
    smooth = level_db.copy()
    a, b, c = level_db[:-2], level_db[1:-1], level_db[2:]
    smooth[1:-1] = np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))  # the middle one of three
    padded = np.concatenate([np.full(width - 1, smooth[0]), smooth])
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, width).max(axis=1))
