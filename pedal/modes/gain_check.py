"""Levels while the player plays hard -> whether the input's gain is set well."""

from __future__ import annotations

from pedal.modes.input_events import LivePitch

QUIET_DB, HOT_DB = -36.0, -9.0
"""Of the loudest few milliseconds of hard playing, in RMS. Above -9 dBFS the peaks of a pluck, some 9 dB higher, clip;
below -36 dBFS a note that rings out sinks into the hiss too soon. A choice, to be set on the bench."""
NOTHING_DB = -70.0


class GainCheck:
    """`.hear(live)` keeps the loudest since `.begin()`; `.word` says what to do."""

    def __init__(self) -> None:
        self.begin()

    def begin(self) -> None:
        """Forget what was heard."""
        self._loudest_db = NOTHING_DB
        self._clipped = False

    def hear(self, live: LivePitch) -> None:
        """Take the level now."""
        self._loudest_db = max(self._loudest_db, live.level_db)
        self._clipped = self._clipped or live.clipped

    @property
    def word(self) -> str:
        """What to do, and the loudest level once something was heard."""
        if self._clipped:
            return "clips: gain down"
        if self._loudest_db <= NOTHING_DB:
            return "play hard"
        if self._loudest_db > HOT_DB:
            return f"gain down {self._loudest_db:.0f} dB"
        if self._loudest_db < QUIET_DB:
            return f"gain up {self._loudest_db:.0f} dB"
        return f"good {self._loudest_db:.0f} dB"
