"""The runs of one pluck -> its tones, each a finished note."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pedal.notes.decoder import BIN_S, FURTHEST_CENTS, HALF_FRET_CENTS
from pedal.notes.heard import Ends, Heard
from pedal.notes.middle import middle
from pedal.notes.note import BegunBy, Mend, Note, Refusal, Trace
from pedal.notes.one_string import of_one_string, put_right
from pedal.notes.plot import ending_of, plot_tone
from pedal.notes.pluck import known_cents, without_attack
from pedal.notes.runs import SHORTEST_S, Run, Swinging, find_swing, of_a_hand, without_last_touch
from pedal.notes.strikes import PAST_S
from pedal.notes.tones import begun_as, is_level, part_tones
from pedal.notes.vibrato import measure_vibrato

RAGGED_CENTS = 3.5
LEAST_PITCHED_SHARE = 0.6


def tell_notes(runs: list[Run], heard: Heard, ends: Ends, trace: Trace) -> list[Note]:
    """The notes of one pluck: one a tone; a slide or trill is one refused note."""
    runs = of_a_hand(of_one_string(runs))
    if not runs:
        return [refused(ends, "no_pitch", trace)]
    heard = replace(heard, cents=put_right(heard.cents, runs))
    if _is_ragged(heard):
        return [refused(ends, "no_pitch", trace)]
    runs = without_attack(runs, heard.at(runs[0].begin) - ends.onset_s)
    runs, begun_first = begun_as(runs, heard)
    swing = find_swing(runs)
    tones, ways = part_tones(runs, heard, swing)
    if len(tones) > 1:
        level = all(is_level(t) for t in tones)
        if "slide" in ways and level:
            return [refused(ends, "slide", trace, heard.hz(tones[0][0].from_cents))]
        if len(ways) > 2 and level:
            return [refused(ends, "hammer_on", trace, heard.hz(tones[0][0].from_cents))]
    notes: list[Note] = []
    for number, tone in enumerate(tones):
        begin = ends.onset_s if number == 0 else heard.at(tone[0].begin)
        last = number == len(tones) - 1
        end = ends.end_s if last else heard.at(tones[number + 1][0].begin)
        own = Ends(begin, end, by_hand=ends.by_hand if last else True)
        begun = begun_first if number == 0 else ways[number - 1]
        if len(tones) == 1:
            return [_tell_tone(tone, heard, own, begun, trace, swing=swing)]
        part = _part(trace, begin, end)
        notes.append(_tell_tone(tone, heard, own, begun, part, swing=find_swing(tone)))
    return notes


def _part(trace: Trace, begin_s: float, end_s: float) -> Trace:
    keep = (trace.time_s >= begin_s) & (trace.time_s < end_s)
    return Trace(trace.time_s[keep], trace.hz[keep], trace.level_db[keep])


def refused(ends: Ends, refusal: Refusal, trace: Trace, hz: float | None = None) -> Note:
    """A note without a story; `hz` is where it began, if that is known."""
    return Note(
        onset_s=ends.onset_s,
        end_s=ends.end_s,
        shape="not_a_bend",
        rest_hz=hz,
        first_hz=hz,
        hold_hz=hz,
        peak_hz=None,
        final_hz=None,
        rise_s=0.0,
        hold_s=0.0,
        ending="cut",
        vibrato=None,
        refusal=refusal,
        trace=trace,
    )


def _is_ragged(heard: Heard) -> bool:
    """Whether the pitch was too ragged or too seldom heard to be one string's."""
    if len(heard.cents) < 3:
        return True
    ragged = middle(np.abs(np.diff(heard.cents, 2))) > RAGGED_CENTS
    step = middle(np.diff(heard.time_s))
    pitched = len(heard.cents) * step / max(1e-6, float(heard.time_s[-1] - heard.time_s[0]) + step)
    return ragged or pitched < LEAST_PITCHED_SHARE


def _tell_tone(runs: list[Run], heard: Heard, ends: Ends, begun: BegunBy, trace: Trace, *, swing: Swinging) -> Note:
    runs = without_last_touch(runs)
    seconds = (runs[-1].end - runs[0].begin) * BIN_S if runs else 0.0
    if seconds < SHORTEST_S:
        where = heard.hz(middle(np.array([r.to_cents for r in runs]))) if runs else None
        return replace(refused(ends, "too_short", trace, where), begun_by=begun)
    if runs[0].move == "up":
        runs = [replace(runs[0], from_cents=_rose_from(heard, runs[0])), *runs[1:]]
    if runs[-1].move == "up" and runs[-1].to_cents - runs[-1].from_cents > HALF_FRET_CENTS:
        runs = [*runs[:-1], replace(runs[-1], to_cents=_rose_to(heard, runs[-1]))]
    plucked_s = ends.onset_s if begun == "pluck" else -math.inf
    plot = plot_tone(runs, swing, lambda run: known_cents(run, heard, plucked_s))
    heights = [h for r in runs for h in (r.from_cents, r.to_cents)]
    if plot is None or max(heights) - min(heights) > FURTHEST_CENTS:
        return replace(refused(ends, "no_pitch", trace), begun_by=begun)
    keep = heard.between(runs[0].begin, runs[-1].end)
    final = _final(heard, keep)
    vibrato = None
    if swing is not None:
        within = heard.between(swing[0].begin, swing[0].end)
        vibrato = measure_vibrato(heard.time_s[within], heard.cents[within], swing[0], stood=plot.hold)
    rest_sigma = 0.0 if plot.rest is None else known_cents(plot.rest, heard, plucked_s)
    from_hz = heard.hz(plot.first) if plot.rest is None and plot.shape in ("rise", "rise_fall") else None
    return Note(
        onset_s=ends.onset_s,
        end_s=ends.end_s,
        shape=plot.shape,
        rest_hz=None if plot.rest is None else heard.hz(plot.rest.to_cents),
        first_hz=heard.hz(plot.first),
        hold_hz=heard.hz(plot.hold),
        peak_hz=heard.hz(plot.peak),
        final_hz=heard.hz(final),
        rise_s=plot.rise_bins * BIN_S,
        hold_s=plot.hold_bins * BIN_S,
        ending=ending_of(plot, final, by_hand=ends.by_hand),
        vibrato=vibrato,
        refusal=None,
        trace=trace,
        begun_by=begun,
        rest_sigma_cents=rest_sigma,
        from_hz=from_hz,
        raised_s=None if plot.left_bin is None else heard.at(plot.left_bin) - ends.onset_s,
        mend=None if plot.mend is None else Mend(heard.hz(plot.mend[0]), heard.at(plot.mend[1]) - ends.onset_s),
    )


def _rose_from(heard: Heard, run: Run) -> float:
    """Where a rise was first heard: a fit of all of it reaches below what never sounded."""
    cents = heard.cents[heard.between(run.begin, run.begin + 3)]
    return max(run.from_cents, middle(cents)) if len(cents) else run.from_cents


def _rose_to(heard: Heard, run: Run) -> float:
    """Where a rise was last heard, if nothing stood after it: its fit reaches above that as well.

    Not asked of a curl: there the fit errs by a few cents, and what is heard lags behind the hand by as much.
    """
    cents = heard.cents[heard.between(run.end - 3, run.end)]
    return max(run.from_cents, min(run.to_cents, float(cents.max()))) if len(cents) else run.to_cents


def _final(heard: Heard, keep: NDArray[np.bool_]) -> float:
    time_s, cents = heard.time_s[keep], heard.cents[keep]
    return middle(cents[time_s >= time_s[-1] - PAST_S]) if len(cents) else 0.0
