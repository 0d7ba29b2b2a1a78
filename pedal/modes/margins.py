"""Levels, lost blocks and troubles -> the small marks in the margins of every screen."""

from __future__ import annotations

from functools import lru_cache

from pedal.modes.input_events import InputEvent, LivePitch, LogPaused, PartFailed, SwitchTrouble
from pedal.modes.screen_model import Status

CLIP_SHOWN_S = 1.5
"""A clipped sample lasts 20 µs; the eye needs longer."""
LOST_SHOWN_S = 10.0
FAULT_SHOWN_S = 60.0
"""As long as a fault counts against its part."""
SILENT_DB = -80.0
"""Below the hiss of any guitar that is plugged in and turned up (a choice, to be set on the bench)."""
SILENT_S = 5.0


class Margins:
    """`.hear(event)` keeps count, `.status(...)` gives the marks."""

    def __init__(self) -> None:
        self._now_s = 0.0
        self._clip_until_s = float("-inf")
        self._lost_until_s = float("-inf")
        self._fault_until_s = float("-inf")
        self._silent_since_s: float | None = None
        self._lost_blocks = 0
        self._log_paused = False
        self._bad_switches: set[int] = set()
        self._status = lru_cache(maxsize=1)(Status)  # as long as no mark changes, the very same value

    def hear(self, event: InputEvent) -> None:
        """Take one event; what has no mark in the margins is passed over."""
        match event:
            case LivePitch():
                self._listen(event)
            case LogPaused(paused=paused):
                self._log_paused = paused
            case PartFailed(time_s=time_s):
                self._fault_until_s = time_s + FAULT_SHOWN_S
            case SwitchTrouble(switch=switch, trouble="well"):
                self._bad_switches.discard(switch)
            case SwitchTrouble(switch=switch):
                self._bad_switches.add(switch)
            case _:
                pass

    def _listen(self, live: LivePitch) -> None:
        self._now_s = live.time_s
        if live.clipped:
            self._clip_until_s = live.time_s + CLIP_SHOWN_S
        if live.time_s > self._lost_until_s:
            self._lost_blocks = 0
        if live.lost:
            self._lost_blocks += 1
            self._lost_until_s = live.time_s + LOST_SHOWN_S
        if live.level_db >= SILENT_DB:
            self._silent_since_s = None
        elif self._silent_since_s is None:
            self._silent_since_s = live.time_s

    def status(
        self, mode: str, key: str, *, drone: bool, chord: str = "", beat: int = 0, no_output: bool = False
    ) -> Status:
        """The marks now."""
        silent_s = 0.0 if self._silent_since_s is None else self._now_s - self._silent_since_s
        return self._status(
            mode,
            key,
            clipped=self._now_s < self._clip_until_s,
            lost_blocks=self._lost_blocks,
            log_paused=self._log_paused,
            drone=drone,
            chord=chord,
            beat=beat,
            no_output=no_output,
            silent_input=silent_s >= SILENT_S,
            fault=self._now_s < self._fault_until_s,
            bad_switch=min(self._bad_switches, default=None),
        )
