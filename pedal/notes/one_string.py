"""The runs of one pluck -> those of one string, in one octave."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from pedal.notes.decoder import BIN_S, FURTHEST_CENTS, HALF_FRET_CENTS, Floats
from pedal.notes.pluck import PLUCKED_CENTS, PLUCKED_S
from pedal.notes.runs import (
    LEAST_JUMP_CENTS,
    LEAST_RISE_CENTS,
    NEAR_FRET_CENTS,
    SHORTEST_S,
    Move,
    Run,
    first_heard,
    joined,
    step_between,
)
from pedal.pitch.octave import MOST_ORDER

_MULTIPLES_CENTS = tuple(1200.0 * math.log2(times) for times in range(2, 1 + MOST_ORDER))


def of_one_string(runs: list[Run]) -> list[Run]:
    """The runs less those further off than a finger gets: the tracker's slips, and what rings after the string."""
    runs = _in_one_octave(runs)
    flats = [r for r in runs if r.move == "flat"]
    if not flats:
        return _without_last_leap(runs)
    longest = _surest(flats)
    kept = [
        r for r in runs if max(abs(r.from_cents - longest.cents), abs(r.to_cents - longest.cents)) <= FURTHEST_CENTS
    ]
    if any(
        r.seconds >= PLUCKED_S and not _is_multiple(r.cents - longest.cents)
        for r in flats
        if r not in kept and r.begin < longest.begin
    ):
        return []
    made: list[Run] = []
    for run in kept:  # what stood before and after a slip is one stand
        if made and made[-1].move == run.move == "flat" and abs(made[-1].cents - run.cents) < LEAST_RISE_CENTS:
            run = joined(made.pop(), run)
        elif made and made[-1].move == run.move == "flat":
            made.append(step_between(made[-1], run))
        made.append(run)
    return _without_first_look(first_heard(_without_last_leap(made)))


def _without_last_leap(runs: list[Run]) -> list[Run]:
    """The runs up to the last that is no jump: what it leaps to has not stood."""
    last = next((k for k in range(len(runs), 0, -1) if not runs[k - 1].jump), 0)
    return runs[:last]


def _without_first_look(runs: list[Run]) -> list[Run]:
    """The runs less a beginning that moves quicker than a hand, and leaps back."""
    while len(runs) > 1 and _looks(runs[0]) and runs[1].jump and runs[1].move != runs[0].move:
        runs = first_heard(runs[1:])
    return runs


def _in_one_octave(runs: list[Run]) -> list[Run]:
    """The runs that the ear heard at a whole part or multiple of the pitch, put where they belong.

    Only where they then join on: what is left of the step is what a hand may have done meanwhile. The surest stand is
    right.
    """
    heard = [run for run in runs if not run.jump]
    if not heard:
        return runs
    right, made = runs.index(_surest(heard)), list(runs)
    for k in [*range(right - 1, -1, -1), *range(right + 1, len(runs))]:
        seam = made[k]
        if not _leaps(seam):
            continue
        beside = made[max(0, k - 1) : k] + made[k + 1 : k + 2]
        goes = {run.move for run in beside if not run.jump}
        shift = _misheard_by(seam.height, goes, sigma_cents=max(run.sigma_cents for run in beside))
        if shift is None:
            continue
        # Up to the next leap: what lies beyond it may have been right.
        if k < right:
            end = next((n for n in range(k - 1, -1, -1) if _leaps(made[n])), -1)
            made[end + 1 : k] = [_misheard(run, shift) for run in made[end + 1 : k]]
            made[k] = _step(seam, seam.from_cents + shift, seam.to_cents)
            if end >= 0:
                made[end] = _step(made[end], made[end].from_cents, made[end].to_cents + shift)
        else:
            end = next((n for n in range(k + 1, len(made)) if _leaps(made[n])), len(made))
            made[k + 1 : end] = [_misheard(run, -shift) for run in made[k + 1 : end]]
            made[k] = _step(seam, seam.from_cents, seam.to_cents - shift)
            if end < len(made):
                made[end] = _step(made[end], made[end].from_cents - shift, made[end].to_cents)
    return made


def _misheard_by(height: float, goes: set[Move], *, sigma_cents: float) -> float | None:
    """Cents of the whole multiple or part that explains a leap, None if none does.

    What it leaves is no more than a quick curl. Where the least rise would show, it may be what a hand does that goes
    there (`goes`) before or after it. Where it stands before and after, and how high is known thrice as well, it may be
    up to three whole frets, and the ear was two octaves off at the most: with more to choose from some multiple would
    explain any leap.
    """
    least, most = -LEAST_JUMP_CENTS, LEAST_JUMP_CENTS
    if sigma_cents < LEAST_RISE_CENTS and "up" in goes:
        least, most = -NEAR_FRET_CENTS, FURTHEST_CENTS
    elif sigma_cents < LEAST_RISE_CENTS and "down" in goes:
        least, most = -FURTHEST_CENTS, NEAR_FRET_CENTS
    shifts = [math.copysign(cents, height) for cents in _MULTIPLES_CENTS]
    explain = [s for s in shifts if least <= height - s <= most]
    if goes == {"flat"} and 3.0 * sigma_cents < LEAST_RISE_CENTS and not explain:
        explain = [s for s in shifts if abs(s) <= 2400.0 and _is_fretted(height - s)]
    return min(explain, key=lambda s: abs(height - s), default=None)


def _is_fretted(cents: float) -> bool:
    return abs(round(cents / 100.0)) <= 3 and abs(cents - 100.0 * round(cents / 100.0)) < LEAST_RISE_CENTS


def _surest(runs: list[Run]) -> Run:
    """The longest stand that is known better than the least rise; if there is none the longest stand, or run.

    What stands while the pluck still sounds, and may be heard too low, counts only where nothing else does.
    """
    flats = [run for run in runs if run.move == "flat"]
    known = [run for run in flats if run.sigma_cents < LEAST_RISE_CENTS]
    plucked = PLUCKED_S / BIN_S
    return max(known or flats or runs, key=lambda run: (max(0.0, run.end - max(run.begin, plucked)), run.seconds))


def _looks(run: Run) -> bool:
    """Whether it is quicker than a hand: the ear looked for the pitch."""
    return abs(run.height) >= LEAST_JUMP_CENTS and run.seconds <= SHORTEST_S


def _leaps(run: Run) -> bool:
    return run.jump and abs(run.height) > FURTHEST_CENTS


def put_right(cents: Floats, runs: list[Run]) -> Floats:
    """Readings at a whole part or multiple of the pitch put where the runs lie."""
    heights = [h for run in runs for h in (run.from_cents, run.to_cents)]
    low, high = min(heights) - HALF_FRET_CENTS, max(heights) + HALF_FRET_CENTS
    wrong = np.flatnonzero((cents < low) | (cents > high))
    if not len(wrong):
        return cents
    right = cents.copy()
    for shift in (sign * multiple for multiple in _MULTIPLES_CENTS for sign in (1.0, -1.0)):
        moved = cents[wrong] + shift
        fits = (low <= moved) & (moved <= high)
        right[wrong[fits]] = moved[fits]
        wrong = wrong[~fits]
    return right


def _misheard(run: Run, by_cents: float) -> Run:
    known = max(PLUCKED_CENTS, run.sigma_cents)
    begin, end = run.from_cents + by_cents, run.to_cents + by_cents
    return replace(
        run, from_cents=begin, to_cents=end, sigma_cents=known, first_cents=None, jump=run.jump or _looks(run)
    )


def _step(seam: Run, begin: float, end: float) -> Run:
    """What is left of a step between two octaves."""
    moved = end - begin
    move: Move = "flat" if abs(moved) < LEAST_RISE_CENTS else "up" if moved > 0 else "down"
    known = max(PLUCKED_CENTS, seam.sigma_cents)
    return replace(seam, move=move, from_cents=begin, to_cents=end, sigma_cents=known, jump=move != "flat")


def _is_multiple(cents: float) -> bool:
    """Whether the ear heard a whole multiple or part of the pitch."""
    times = 2.0 ** (abs(cents) / 1200.0)
    return abs(1200.0 * math.log2(times / max(1, round(times)))) < HALF_FRET_CENTS
