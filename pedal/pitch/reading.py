"""What the ear says: one reading of pitch."""

from __future__ import annotations

from typing import NamedTuple


class Reading(NamedTuple):
    """One pitch reading. A tuple, because hundreds are made a second: a frozen dataclass takes twice the time.

    time_s : centre of what was measured, seconds since the first sample.
    hz : fundamental of the string in hertz, 0.0 if no pitch.
    confidence : 0 to 1.
    level_db : RMS level of the newest few milliseconds, dBFS.
    heard_s : time of the newest sample behind the reading; level and attack belong to this time.
    attack_db : how far the level has just jumped above its recent past, dB; 0 where nothing was struck.
    floor_db : level of what is no string (the learned silence: hiss, hum) at `heard_s`, dBFS, -90 or
        more; a string that begins stands 8 dB over it.
    clear_db : how far the string's partials stand out of the silence learned at their place, dB; 0 if no pitch.
    """

    time_s: float
    hz: float
    confidence: float
    level_db: float
    heard_s: float
    attack_db: float = 0.0
    floor_db: float = -90.0
    clear_db: float = 0.0
