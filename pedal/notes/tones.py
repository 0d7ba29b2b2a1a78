"""The runs of one string -> those of each tone, and what began it: hammer-on, pull-off or slide."""

from __future__ import annotations

import numpy as np

from pedal.notes.decoder import BIN_S, HALF_FRET_CENTS
from pedal.notes.heard import Heard
from pedal.notes.middle import middle
from pedal.notes.note import BegunBy
from pedal.notes.passage import way_of
from pedal.notes.runs import LEAST_JUMP_CENTS, PASSING_S, SHORTEST_S, Run, Swinging


def part_tones(runs: list[Run], heard: Heard, swing: Swinging) -> tuple[list[list[Run]], list[BegunBy]]:
    """The runs parted at jumps and slides, and what began each tone after the first."""
    tones: list[list[Run]] = [[]]
    ways: list[BegunBy] = []
    k = 0
    while k < len(runs):
        end = _move_end(runs, k)
        moved = end > k and bool(tones[-1]) and end < len(runs) and not (swing and swing[1] <= k < swing[2])
        if moved:
            a, b = runs[k - 1].to_cents, runs[end].from_cents
            way = _way(heard, runs[k].begin, runs[end - 1].end, a, b)
            if way != "glide" and runs[k - 1].seconds >= SHORTEST_S / 2 and _lasts(runs[end:]):
                tones.append([])
                ways.append("slide" if way == "slide" else "hammer_on" if b > a else "pull_off")
                k = end
                continue
        if end > k:
            tones[-1] += runs[k:end]
            k = end
        else:
            tones[-1].append(runs[k])
            k += 1
    return tones, ways


def begun_as(runs: list[Run], heard: Heard) -> tuple[list[Run], BegunBy]:
    """The runs without a first move that was no finger's bend, and what began the tone that is left.

    A leap from where the string stood is parted into that stand and the leap. A grace note, slid or hammered up from
    before it was heard to stand, is no tone of its own, and what it leads to is bent from nowhere.
    """
    end = _move_end(runs, 0) if runs else 0
    if not 0 < end < len(runs):
        return runs, "pluck"
    keep = heard.between(runs[0].begin, runs[end - 1].end)
    time_s, cents, last = heard.time_s[keep], heard.cents[keep], runs[end].from_cents
    if len(cents) < 3:
        return runs, "pluck"
    first = middle(cents[:3])
    way = _way(heard, runs[0].begin, runs[end - 1].end, first, last, stood=False)
    gone = np.flatnonzero(np.abs(cents - first) > 0.1 * abs(last - first))
    stood = bool(len(gone)) and time_s[gone[0]] - time_s[0] >= SHORTEST_S / 2
    if way == "jump" and stood:
        leaves, level = int((time_s[gone[0]] - heard.zero_s) / BIN_S), middle(cents[: gone[0]])
        rest = Run("flat", runs[0].begin, leaves, level, level, 1.0)
        return [rest, Run(runs[0].move, leaves, runs[end - 1].end, level, last), *runs[end:]], "pluck"
    if way == "glide" or runs[0].move != "up" or not _lasts(runs[end:]):
        return runs, "pluck"
    return runs[end:], "slide" if way == "slide" else "hammer_on"


def _lasts(runs: list[Run]) -> bool:
    return (runs[-1].end - runs[0].begin) * BIN_S >= SHORTEST_S


def _move_end(runs: list[Run], k: int) -> int:
    """The run after a move in one direction that begins at run `k`, its passing stands included; `k` if none does."""
    move = runs[k].move
    if move == "flat":
        return k
    end = k + 1
    while (
        end + 1 < len(runs)
        and runs[end].move == "flat"
        and runs[end].seconds < PASSING_S
        and runs[end + 1].move == move
    ):
        end += 2
    while end < len(runs) and runs[end].move == move:
        end += 1
    return end


def _way(heard: Heard, begin: int, end: int, a: float, b: float, *, stood: bool = True) -> str:
    if abs(b - a) < LEAST_JUMP_CENTS:
        return "glide"
    keep = heard.between(begin - 2, end + 2)
    return way_of(heard.time_s[keep], heard.heard_s[keep], heard.cents[keep], a, b, stood=stood)


def is_level(tone: list[Run]) -> bool:
    """Whether a tone stays within half a fret."""
    heights = [h for r in tone for h in (r.from_cents, r.to_cents)]
    return max(heights) - min(heights) < HALF_FRET_CENTS
