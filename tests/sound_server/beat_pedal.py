"""The real command with the drone's press given at its start, so that the pulse of the settings sounds.

Run as a module in place of `pedal.cli.entry`; on stderr it says where the first beat lies on the axis of its readings,
and what delay was taken off for that.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Any

from pedal.cli.entry import program
from pedal.live import session
from pedal.modes.input_events import BeatsBegan
from pedal.modes.pedal import Pedal

_begin, _step = session.starting_state, Pedal.step


def _on(settings: Any) -> Any:
    return replace(_begin(settings), drone_on=True)


def _telling(self: Pedal, event: Any) -> Any:
    if isinstance(event, BeatsBegan) and event.zero_s is not None:
        sys.stderr.write(f"beat zero at {event.zero_s:.4f}, delay {self.settings.delay_ms:g} ms\n")
    return _step(self, event)


if __name__ == "__main__":
    session.starting_state = _on  # type: ignore[assignment]
    Pedal.step = _telling  # type: ignore[method-assign]
    program()
