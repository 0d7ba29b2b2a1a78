"""What the output shall play of a lick."""

from __future__ import annotations

from pedal.licks.lick import Lick
from pedal.values import frozen

LOUDER_DB = 12.0
"""A plucked string fades at once: so much above the drone's level it is as loud (by ear; the ceiling holds)."""


@frozen
class LickOrder:
    """Play this lick once; None stops what plays. `tempo` 1 as it is, 0.5 half as fast; `level_db` its peak, dBFS."""

    lick: Lick | None
    tempo: float = 1.0
    level_db: float = -18.0
    a4_hz: float = 440.0
