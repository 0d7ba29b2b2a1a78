"""Power of each tick -> whether the wave breaks off: the string was struck just now, or hammered, or damped.

The ear then begins its window anew. Whether a note begins is another question, asked in `pedal.notes.strikes`.
"""

from __future__ import annotations

import math

SILENT_POWER = 1e-9
BROKEN_DB = 6.0
"""attack_db from which the wave breaks off: a pitch of the mains in a sound that began without is hum."""
STRUCK_DB = 8.0
"""attack_db from which the window starts afresh, so that the note before does not leak into the next."""


class Jump:
    """How far a power has jumped: the stronger of the last two ticks over the fading peak of what was before."""

    def __init__(self, fades: float) -> None:
        self._fades = fades
        self._before = self._past = 0.0

    def hear(self, power: float, least: float) -> float:
        """The jump in dB, 0 or more, after one more tick; nothing below `least` counts."""
        newest = power if power > self._before else self._before
        past = self._past if self._past > least else least
        faded = self._fades * self._past
        self._past = self._before if self._before > faded else faded
        self._before = power
        if newest <= past:
            return 0.0
        return 10.0 * math.log10(newest / past)


def novelty_db(jump_db: float, fresh: float, loudest: float) -> float:
    """attack_db from the power that does not follow from the period before (`fresh`) and how far it has jumped.

    A bend, vibrato or decay keeps `fresh` far below the sound itself; hiss keeps it level.
    """
    if fresh <= 0.0 or jump_db <= 0.0:
        return 0.0
    # All new is twice what counts as struck: so a wave of which less than a sixth is new is no strike.
    new_db = 2.0 * STRUCK_DB + 10.0 * math.log10(fresh / loudest)
    news_db = new_db if new_db < jump_db else jump_db
    return news_db if news_db > 0.0 else 0.0
