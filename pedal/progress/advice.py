"""Figures -> at most three sentences for the player, each with the figure behind it and none without.

Every rule claims only what an interval supports (docs/statistics.md lists them), and only of things tried often enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedal.progress.figures import FELT_CENTS, LEAST_TRIES, Figures, grouped, target_table
from pedal.progress.intervals import Estimate, median_estimate
from pedal.progress.naming import digits_of, target_for_eyes, whole_words
from pedal.progress.tries import Tries
from pedal.verdicts.aim import Bands

MOST_SENTENCES = 3
RELEASED_SHARE = 0.15
"""Curls are called released too often when surely more than this share of them is."""
SCATTERED_SHARE = 0.5
"""Bends are called scattered when surely fewer than this share is true, though they lean to neither side."""
OVERSHOT_CENTS = 15.0
"""Bends are called overshot when their middle overshoot is surely more than this."""

_CENTS_OF_A_SHARE = 50.0


@dataclass(frozen=True, slots=True)
class Advice:
    """A sentence on one target; `rule` is its heading in docs/statistics.md; the greater `weight` is said first.

    Weights are cents, or what is taken as equal: ten in a hundred curls released weigh as much as five cents.

    fault : the same for a glance, cents with their sign or a word: "−22", "released".
    player : of whom it is, where a log holds several.
    """

    rule: str
    target: str
    sentence: str
    weight: float
    fault: str
    player: str = ""


def advise(
    tries: Tries,
    *,
    rows: Sequence[Figures] | None = None,
    bands: Bands | None = None,
    most: int | None = MOST_SENTENCES,
) -> list[Advice]:
    """The up to three weightiest things that the log supports, heaviest first; empty if it supports none.

    rows : the `target_table` of these tries, if it is known already.
    most : how many; None for all.
    """
    limits = bands or Bands()
    known = {row.name: row for row in (target_table(tries) if rows is None else rows)}
    found: list[Advice] = []
    for name, group in grouped(tries, "target"):
        row = known[name]
        if row.enough:
            found += [*_leaning(row, group), *_released(row), *_outside_zone(row, limits)]
            found += [*_scattered(row), *_overshot(row), *_moving(row)]
    return sorted(found, key=lambda advice: -advice.weight)[:most]


def silence(tries: Tries) -> str:
    """What to say when there is no advice: how much there is to go by."""
    most = max((len(group) for _, group in grouped(tries, "target")), default=0)
    if not len(tries):
        return "No bend has been judged yet."
    if most < LEAST_TRIES:
        return f"Nothing can be said before there are {LEAST_TRIES} tries of one target; so far there are {most}."
    return f"Nothing stands out from chance in {len(tries)} tries."


def _leaning(row: Figures, tries: Tries) -> Iterator[Advice]:
    bias = row.bias_cents
    if bias is None or not bias.beyond(FELT_CENTS):
        return
    verb, side, remedy = ("stop", "flat", "aim higher") if bias.value < 0 else ("go", "sharp", "aim lower")
    worse = _worse_string(tries, 1.0 if bias.value > 0 else -1.0)
    claim = f"{verb} {abs(bias.value):.0f} cents {side}{worse}: {remedy} ({_doubt(bias, signed=True)})"
    fault = f"{'−' if bias.value < 0 else '+'}{round(abs(bias.value))}"
    yield _advice("leaning", row, claim, abs(bias.value), fault)


def _worse_string(tries: Tries, side: float) -> str:
    """Words for the string that surely leans further to this side than the others together; "" if none does."""
    worst, words = 0.0, ""
    for string in np.unique(tries.string[tries.string > 0]).tolist():
        here = _lean(side, tries.value[tries.string == string])
        rest = _lean(side, tries.value[(tries.string > 0) & (tries.string != string)])
        if here is None or rest is None or min(here.n, rest.n) < LEAST_TRIES:
            continue
        if here.low - rest.high > worst:
            worst, words = here.low - rest.high, f", {here.value:.0f} on string {string}"
    return words


def _lean(side: float, errors: NDArray[np.float64]) -> Estimate | None:
    return median_estimate(side * errors[~np.isnan(errors)])


def _released(row: Figures) -> Iterator[Advice]:
    kept = row.kept
    if kept is not None and 1 - kept.high > RELEASED_SHARE:
        released = Estimate(1 - kept.value, 1 - kept.high, 1 - kept.low, kept.n)
        claim = f"are released {100 * released.value:.0f} times in 100: stop the string while it is up"
        weight = _CENTS_OF_A_SHARE * released.value
        yield _advice("released", row, f"{claim} ({_doubt_of_share(released)})", weight, "released")


def _outside_zone(row: Figures, bands: Bands) -> Iterator[Advice]:
    height = row.height_cents
    if height is None:
        return
    if height.high < bands.zone_low_cents:
        where, remedy, fault, miss = "stay under", "curl further", "low", bands.zone_low_cents - height.value
    elif height.low > bands.zone_high_cents:
        where, remedy, fault, miss = "go over", "curl less", "high", height.value - bands.zone_high_cents
    else:
        return
    claim = f"{where} the blue zone with {height.value:.0f} cents: {remedy} ({_doubt(height)})"
    yield _advice("outside the zone", row, claim, miss, fault)


def _scattered(row: Figures) -> Iterator[Advice]:
    bias, hits, spread = row.bias_cents, row.hits, row.spread_cents
    if bias is None or hits is None or spread is None or bias.beyond(FELT_CENTS) or hits.high >= SCATTERED_SHARE:
        return
    what = f"scatter by {spread:.0f} cents to both sides, {100 * hits.value:.0f} in 100 are true"
    claim = f"{what}: hear the target before you bend ({_doubt_of_share(hits)})"
    yield _advice("scattered", row, claim, spread / 2, f"±{round(spread)}")


def _overshot(row: Figures) -> Iterator[Advice]:
    over = row.overshoot_cents
    if over is not None and over.low > OVERSHOT_CENTS:
        claim = f"shoot {over.value:.0f} cents past where they settle: arrive slower ({_doubt(over)})"
        yield _advice("overshot", row, claim, over.value / 2, "over")


def _moving(row: Figures) -> Iterator[Advice]:
    trend = row.trend
    if trend is None or not row.trend_stands:
        return
    word = "truer" if trend.slope < 0 else "less true"
    curls = row.bias_cents is None
    scale, what, unit = (100.0, "share released", "\N{NO-BREAK SPACE}%") if curls else (1.0, "middle miss", " cents")
    first, last = (scale * max(0.0, end) for end in (trend.first, trend.last))
    chance = "p < 0.001" if trend.p < 0.001 else f"p = {trend.p:.2g}"
    claim = f"get {word}: {what} from {first:.0f} to {last:.0f}{unit} over {trend.sessions} sessions ({chance})"
    yield _advice("moving", row, claim, (_CENTS_OF_A_SHARE / 100 if curls else 1.0) * abs(last - first), word)


def _advice(rule: str, row: Figures, claim: str, weight: float, fault: str) -> Advice:
    return Advice(rule, row.name, f"Your {target_for_eyes(row.name, plural=True)} {claim}.", weight, fault)


def _doubt(estimate: Estimate, *, signed: bool = False) -> str:
    digits = digits_of(estimate.low, estimate.high)
    low, high = (whole_words(end, signed=signed, digits=digits) for end in (estimate.low, estimate.high))
    return f"median of {estimate.n} tries, 95\N{NO-BREAK SPACE}% interval {low} to {high}"


def _doubt_of_share(share: Estimate) -> str:
    digits = digits_of(100 * share.low, 100 * share.high)
    between = f"{100 * share.low:.{digits}f} to {100 * share.high:.{digits}f}"
    return f"{share.n} tries, 95\N{NO-BREAK SPACE}% interval {between}\N{NO-BREAK SPACE}%"
