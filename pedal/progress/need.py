"""Past tries of each target -> the one that needs practice most: the rule of practice that learns.

The rule, in whole. Of a target's last `RECENT` judged tries take

    bias    the median error: how far off the hand aims
    spread  1.4826 times the median distance from that median: how widely it scatters (0 for one try)
    rest    1 - 2^(-age / HALF_REST_S), the age counted from the newest try: from 0 just now to 1 long ago

and call

    need = min(|bias| / UNIT_CENTS, CAP) + min(spread / UNIT_CENTS, CAP) + rest

A target never tried has need `UNTRIED`: before one that is known to be good, after one that is known to be bad. The
target with the greatest need comes next; of equals the first in the order given. The one just played is passed over
while there is another, so that a hand never repeats one heavy bend without end.

Medians, because one slip is no habit. `1.4826 * MAD` estimates a standard deviation for normal scatter (Hampel 1974,
J. Am. Stat. Assoc. 69, 383-393; cited from memory). Unit, cap and half-life are choices, with no study behind them.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from statistics import median
from typing import TypeVar

from pedal.values import frozen

RECENT = 8
UNIT_CENTS = 25.0
"""One unit of need: an error that just stops being "near" with the usual bands."""
CAP = 3.0
"""No single part outweighs everything: one wild string shall not be asked for all evening."""
HALF_REST_S = 600.0
UNTRIED = 1.5
SPREAD_OF_MAD = 1.4826

Name = TypeVar("Name", bound=Hashable)


@frozen
class Try:
    """One judged try: when (seconds, on a clock that all tries share) and its signed error."""

    time_s: float
    error_cents: float


def bias_of(errors: Sequence[float]) -> float | None:
    """Median of signed errors in cents; None without any."""
    return median(errors) if errors else None


def spread_of(errors: Sequence[float]) -> float | None:
    """Scatter of errors in cents, 1.4826 times the median distance from their median; None for fewer than two."""
    if len(errors) < 2:
        return None
    middle = median(errors)
    return SPREAD_OF_MAD * median(abs(error - middle) for error in errors)


def need_of(tries: Sequence[Try], now_s: float) -> float:
    """How much a target with these tries (oldest first) needs practice at `now_s`; 0 or more, at most 2 * CAP + 1."""
    if not tries:
        return UNTRIED
    errors = [one.error_cents for one in tries[-RECENT:]]
    bias, spread = bias_of(errors) or 0.0, spread_of(errors) or 0.0
    age_s = max(0.0, now_s - tries[-1].time_s)
    rest = 1.0 - math.exp2(-age_s / HALF_REST_S)
    return min(abs(bias) / UNIT_CENTS, CAP) + min(spread / UNIT_CENTS, CAP) + rest


def neediest(
    targets: Sequence[Name], tries: Mapping[Name, Sequence[Try]], *, now_s: float, just_played: Name | None = None
) -> Name:
    """The target to ask for next.

    Parameters
    ----------
    targets : sequence of names
        At least one, in the order that decides between equals.
    tries : mapping
        Each name's tries, oldest first; a name without an entry was never tried.
    now_s : float
        Seconds on the clock of the tries.
    just_played : name, optional
        Passed over, unless it is the only one.

    Raises
    ------
    ValueError
        If there is no target.

    Examples
    --------
    >>> tries = {"C4": [Try(0.0, -31.0), Try(9.0, -28.0)], "D4": [Try(20.0, 2.0), Try(30.0, -3.0)]}
    >>> neediest(["C4", "D4"], tries, now_s=40.0)
    'C4'
    >>> neediest(["C4", "D4", "F4"], tries, now_s=40.0, just_played="C4")
    'F4'
    """
    if not targets:
        raise ValueError("targets must hold at least one name, got none")
    others = [name for name in targets if name != just_played] or list(targets)
    return max(others, key=lambda name: need_of(tries.get(name, ()), now_s))
