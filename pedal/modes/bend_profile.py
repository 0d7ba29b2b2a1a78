"""Two bends -> how alike they are: the parts that differ, and one figure from 0 to 100.

Each part is a distance, 0 where there is no difference:

    height    |difference of heights| / 25 cents
    rise      |log2 of the ratio of rise times|, each counted as `LEAST_S` longer: a rise twice as long counts 1
    hold      the same for hold times
    width     |difference of vibrato widths| / 25 cents (0 for no vibrato)
    rate      |log2 of the ratio of vibrato rates|, at most 1; 1 if only one of the two has vibrato
    ending    0 if both ended the same way, else 1

    likeness = 100 * 2 ** -(height + (rise + hold + width + rate + ending) / 2)

Equal bends give 100; each part alone lowers the figure the more the greater it is; 25 cents of height halve it, as does
one doubling of two of the other parts. Height weighs double because it is what the ear corrects first; 25 cents is
where a bend stops being "near". Units and weights are choices, with no study behind them.
"""

from __future__ import annotations

import math

from pedal.values import frozen
from pedal.verdicts.verdict import Verdict

UNIT_CENTS = 25.0
LEAST_S = 0.03
"""Below this, rise and hold times cannot be told apart: it softens the ratio of short ones."""
UNLIKE_LEAST = 0.2
"""A part that takes less than an eighth off the figure (1 - 2 ** -0.2) is not named."""
_ENDED = {"cut_sharp": "CUT OFF", "cut": "CUT OFF", "released": "RELEASED", "rang_out": "RANG OUT"}


@frozen
class BendProfile:
    """How a bend went: what a copy of it can differ in. Rate and width are 0 without vibrato."""

    height_cents: float
    rise_s: float
    hold_s: float
    vibrato_hz: float
    vibrato_cents: float
    ending: str


@frozen
class Likeness:
    """Differences of a copy from its model (copy less model), and the one figure.

    The percentages are how much longer, or wider, the copy was; `vibrato_percent` compares widths.
    """

    height_cents: float
    rise_percent: float
    hold_percent: float
    vibrato_percent: float
    ending_same: bool
    figure: float
    unlike: str
    """What lowered the figure most, in a word or two for one glance; "" where nothing did much."""


def bend_profile_of(verdict: Verdict) -> BendProfile | None:
    """The profile of a judged bend; None of a note that is no bend, or whose height is not known."""
    if verdict.kind in ("steady", "slide", "hammer_on", "unclear") or verdict.bend_cents is None:
        return None
    return BendProfile(
        verdict.bend_cents,
        verdict.rise_s or 0.0,
        verdict.hold_s or 0.0,
        verdict.vibrato_hz,
        verdict.vibrato_cents,
        verdict.ending,
    )


def compare(model: BendProfile, copy: BendProfile) -> Likeness:
    """How alike a bend is to its model."""
    height_cents = copy.height_cents - model.height_cents
    rise = math.log2((copy.rise_s + LEAST_S) / (model.rise_s + LEAST_S))
    hold = math.log2((copy.hold_s + LEAST_S) / (model.hold_s + LEAST_S))
    width = (copy.vibrato_cents - model.vibrato_cents) / UNIT_CENTS
    rate = _rate_distance(model.vibrato_hz, copy.vibrato_hz)
    ending = 0.0 if copy.ending == model.ending else 1.0
    parts = {
        "TOO HIGH" if height_cents > 0 else "TOO LOW": abs(height_cents) / UNIT_CENTS,
        "SLOW RISE" if rise > 0 else "FAST RISE": abs(rise) / 2,
        "LONG HOLD" if hold > 0 else "SHORT HOLD": abs(hold) / 2,
        _shake_word(model, copy): (abs(width) + rate) / 2,
        _ENDED[copy.ending]: ending / 2,
    }
    most = max(parts, key=lambda word: parts[word])
    return Likeness(
        height_cents,
        _percent(model.rise_s, copy.rise_s),
        _percent(model.hold_s, copy.hold_s),
        _percent(model.vibrato_cents, copy.vibrato_cents),
        copy.ending == model.ending,
        100.0 * 2.0 ** -sum(parts.values()),
        most if parts[most] >= UNLIKE_LEAST else "",
    )


def _shake_word(model: BendProfile, copy: BendProfile) -> str:
    """What the vibrato of a copy is beside its model's."""
    if not (model.vibrato_hz and copy.vibrato_hz):
        return "NO VIBRATO" if model.vibrato_hz else "VIBRATO"
    if abs(copy.vibrato_cents - model.vibrato_cents) / UNIT_CENTS >= _rate_distance(model.vibrato_hz, copy.vibrato_hz):
        return "WIDE SHAKE" if copy.vibrato_cents > model.vibrato_cents else "SMALL SHAKE"
    return "FAST SHAKE" if copy.vibrato_hz > model.vibrato_hz else "SLOW SHAKE"


def _octaves(one: float, other: float) -> float:
    return abs(math.log2(other / one))


def _rate_distance(model_hz: float, copy_hz: float) -> float:
    if model_hz > 0.0 and copy_hz > 0.0:
        return min(1.0, _octaves(model_hz, copy_hz))
    return 0.0 if model_hz == copy_hz else 1.0


def _percent(model: float, copy: float) -> float:
    """How much more the copy had, in percent of the model; against a model with nearly none, 100 for any."""
    if model < 1e-3:
        return 0.0 if copy < 1e-3 else 100.0
    return 100.0 * (copy / model - 1.0)
