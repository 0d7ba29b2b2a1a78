"""The sharp start of a hard pluck, taken out of a contour.

A string plucked hard is longer than one at rest, starts sharp, and settles: all partials relax exponentially together
(docs/sources.md: Legge and Fletcher 1984; Tolonen, Valimaki and Karjalainen 2000). A bend made meanwhile rides on it.
"""

from __future__ import annotations

import numpy as np

from pedal.notes.contour import Floats

LEAST_S = 0.120
"""A shorter rest does not show how fast the pitch settles."""
TIMES_S = np.geomspace(0.04, 0.5, 12)
MOST_CENTS = 30.0
"""More than the hardest pluck of a plain string gives (19 cents for 3 mm at the twelfth fret of a G string)."""


def settled(time_s: Floats, cents: Floats, begin: int, end: int) -> Floats:
    """The same heights less the settling that the readings `begin` to `end` (open), a stretch at one height, show.

    What comes before the stretch and lies near it is looked at as well. The rest of the contour is corrected by the
    same fading curve. Unchanged where the stretch is short, where it does
    not fall, or where an exponential explains it no better than a level.
    """
    while begin > 0 and abs(cents[begin - 1] - cents[end - 1]) <= MOST_CENTS:
        begin -= 1
    t, c = time_s[begin:end] - time_s[begin], cents[begin:end]
    if len(t) < 8 or t[-1] < LEAST_S:
        return cents
    best_error, size, constant = float(np.var(c)) * 0.7, 0.0, 1.0
    for tau in TIMES_S.tolist():
        curve = np.exp(-t / tau)
        curve -= curve.mean()
        weight = float(curve @ c / (curve @ curve))
        error = float(np.mean((c - c.mean() - weight * curve) ** 2))
        if error < best_error and 0.0 < weight <= MOST_CENTS:
            best_error, size, constant = error, weight, tau
    later = np.maximum(0.0, time_s - time_s[begin])
    return np.asarray(cents - size * np.exp(-later / constant))
