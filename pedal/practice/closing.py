"""A Round that is over -> three lines: what went well, what to do tomorrow, how long the hand should rest."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from pedal.practice.item import Item, ItemName
from pedal.practice.score import Score
from pedal.progress.need import bias_of

REST_SHARE = 0.4
"""Minutes of rest for a minute of a Round: four after ten. The cautions ask for ten in the hour at least, a sixth."""
LEAST_TRIES = 2


@dataclass(frozen=True, slots=True)
class Line:
    """One of the three: a word above, a few letters for a glance, and the whole for close eyes."""

    title: str
    short: str
    whole: str


def closing_lines(
    items: Mapping[ItemName, Item],
    history: Mapping[ItemName, Score],
    *,
    need: Callable[[Item], float],
    minutes: float,
    heavy_free_in_s: float,
) -> tuple[Line, Line, Line]:
    """What went well, what to do tomorrow, and how long to rest.

    items : those that were asked for, by name.
    history : the tries of the whole Round at each.
    need : how much an item needs practice now.
    minutes : how long the Round was.
    heavy_free_in_s : how long until heavy bends may be offered again; 0 where they may be.
    """
    return (
        _well(items, history),
        _tomorrow(items, history, need),
        _rest(minutes, heavy_free_in_s),
    )


def _judged(items: Mapping[ItemName, Item], history: Mapping[ItemName, Score]) -> list[tuple[Item, Score]]:
    """What was bent and tried; fretted notes warm the hand up and are no achievement."""
    found = ((items[name], score) for name, score in history.items() if name in items)
    return [(item, score) for item, score in found if score.outcomes and item.part not in ("plain", "between")]


def _well(items: Mapping[ItemName, Item], history: Mapping[ItemName, Score]) -> Line:
    """The largest share true of what was tried more than once; of equals the most, and what takes more force."""
    repeated = [(item, score) for item, score in _judged(items, history) if len(score.outcomes) >= LEAST_TRIES]
    best = max(
        repeated, key=lambda one: (one[1].trues / len(one[1].outcomes), one[1].trues, one[0].force_n), default=None
    )
    if best is None or best[1].trues == 0:
        count = sum(len(score.outcomes) for _, score in _judged(items, history))
        tries = "1 try" if count == 1 else f"{count} tries"
        return Line("well", tries if count else "you came", f"{tries}, and every one counts" if count else "you came")
    item, score = best
    share = f"{score.trues}/{len(score.outcomes)}"
    return Line("well", f"{mark_of(item)} {share}", f"{words_of(item)}, {share} true")


def _tomorrow(items: Mapping[ItemName, Item], history: Mapping[ItemName, Score], need: Callable[[Item], float]) -> Line:
    """What needs it most of what was played, by the rule of need, and which way it misses."""
    missed = [(item, score) for item, score in _judged(items, history) if score.misses]
    worst = max(missed, key=lambda one: need(one[0]), default=None)
    if worst is None:
        return Line("tomorrow", "go on", "the same again, or another position")
    item, score = worst
    bias = bias_of(score.errors) if item.part not in ("curl", "lick") else None
    way = "" if bias is None or round(bias) == 0 else f", {abs(round(bias))} {'flat' if bias < 0 else 'sharp'}"
    short = "" if bias is None or round(bias) == 0 else f" {round(bias):+d}"
    return Line("tomorrow", f"{mark_of(item)}{short}", f"{words_of(item)}{way}")


def _rest(minutes: float, heavy_free_in_s: float) -> Line:
    rest = max(1, math.ceil(minutes * REST_SHARE))
    later = f", heavy bends {math.ceil(heavy_free_in_s / 60)} min" if heavy_free_in_s > 60 * rest else ""
    return Line("rest", f"{rest} min", f"rest the hand {rest} min{later}")


def mark_of(item: Item) -> str:
    """An item in few letters: where it goes, with a wave for a curl."""
    if item.part == "lick":
        return f"lick {item.lick}"
    return f"{item.note}~" if item.part == "curl" else item.target


def words_of(item: Item) -> str:
    """An item in words, short."""
    match item.part:
        case "curl":
            return f"curl {item.note}"
        case "prebend":
            return f"pre-bend {item.target}"
        case "lick":
            return f"lick {item.note}"
        case "bend" | "half":
            return f"bend {item.note} to {item.target}"
        case _:
            return item.note
