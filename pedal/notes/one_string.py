"""The runs of one pluck -> those of one string, in one octave."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from pedal.notes.decoder import FURTHEST_CENTS, HALF_FRET_CENTS, Floats
from pedal.notes.pluck import PLUCKED_CENTS, PLUCKED_S
from pedal.notes.runs import LEAST_JUMP_CENTS, LEAST_RISE_CENTS, Move, Run, first_heard, joined, step_between

MOST_TIMES = 6
"""Up to here the multiples of a pitch lie so far apart that what a quick curl adds takes none for its neighbour."""


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
    return first_heard(_without_last_leap(made))


def _without_last_leap(runs: list[Run]) -> list[Run]:
    """The runs up to the last that is no jump: what it leaps to has not stood."""
    last = next((k for k in range(len(runs), 0, -1) if not runs[k - 1].jump), 0)
    return runs[:last]


def _in_one_octave(runs: list[Run]) -> list[Run]:
    """The runs that the ear heard at a whole part or multiple of the pitch, put where they belong.

    Only where they then join on: what is left of the step is no more than a quick curl. The surest stand is right.
    """
    heard = [run for run in runs if not run.jump]
    if not heard:
        return runs
    right, made = runs.index(_surest(heard)), list(runs)
    for k in [*range(right - 1, -1, -1), *range(right + 1, len(runs))]:
        seam = made[k]
        goes = {run.move for run in made[max(0, k - 1) : k + 2] if not run.jump}
        on = HALF_FRET_CENTS if "up" in goes else -HALF_FRET_CENTS if "down" in goes else 0.0
        times = round(2.0 ** (abs(seam.height) / 1200.0))
        within = LEAST_JUMP_CENTS if times <= MOST_TIMES else HALF_FRET_CENTS
        whole = _is_multiple(seam.height, within) or _is_multiple(seam.height - on)  # it moved on while the ear looked
        if not _leaps(seam) or not whole:
            continue
        shift = math.copysign(1200.0 * math.log2(times), seam.height)
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


def _surest(runs: list[Run]) -> Run:
    """The longest stand that is known better than the least rise; if there is none the longest stand, or run."""
    flats = [run for run in runs if run.move == "flat"]
    known = [run for run in flats if run.sigma_cents < LEAST_RISE_CENTS]
    return max(known or flats or runs, key=lambda run: run.seconds)


def _leaps(run: Run) -> bool:
    return run.jump and abs(run.height) > FURTHEST_CENTS


def put_right(cents: Floats, runs: list[Run]) -> Floats:
    """Readings at a whole part or multiple of the pitch put where the runs lie."""
    heights = [h for run in runs for h in (run.from_cents, run.to_cents)]
    low, high = min(heights) - HALF_FRET_CENTS, max(heights) + HALF_FRET_CENTS
    for times in range(2, 1 + MOST_TIMES):
        for shift in (1200.0 * math.log2(times), -1200.0 * math.log2(times)):
            moved = cents + shift
            wrong = ((cents < low) | (cents > high)) & (low <= moved) & (moved <= high)
            if wrong.any():
                cents = np.where(wrong, moved, cents)
    return cents


def _misheard(run: Run, by_cents: float) -> Run:
    known = max(PLUCKED_CENTS, run.sigma_cents)
    begin, end = run.from_cents + by_cents, run.to_cents + by_cents
    return replace(run, from_cents=begin, to_cents=end, sigma_cents=known, first_cents=None)


def _step(seam: Run, begin: float, end: float) -> Run:
    """What is left of a step between two octaves."""
    moved = end - begin
    move: Move = "flat" if abs(moved) < LEAST_RISE_CENTS else "up" if moved > 0 else "down"
    known = max(PLUCKED_CENTS, seam.sigma_cents)
    return replace(seam, move=move, from_cents=begin, to_cents=end, sigma_cents=known, jump=move != "flat")


def _is_multiple(cents: float, within: float = HALF_FRET_CENTS) -> bool:
    """Whether the ear heard a whole multiple or part of the pitch."""
    times = 2.0 ** (abs(cents) / 1200.0)
    return abs(1200.0 * math.log2(times / max(1, round(times)))) < within
