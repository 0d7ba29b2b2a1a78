"""How far a long take has been read, on a terminal only."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TextIO

_LONG_S = 60.0
"""Sound shorter than this is read before anyone wonders."""
_WIDTH = 30
_EVERY_S = 0.2


class ProgressBar:
    """One line on standard error that is wiped again: nothing of it reaches a pipe or a file."""

    def __init__(
        self,
        total_samples: int,
        *,
        sample_rate: int,
        terminal: TextIO,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._total, self._done = total_samples, 0
        self._terminal, self._clock = terminal, clock
        self._wanted = terminal.isatty() and total_samples > _LONG_S * sample_rate
        self._next_s = clock()
        self._drawn = False

    def advance(self, samples: int) -> None:
        """`samples` more have been read; the line is drawn anew a few times a second."""
        self._done += samples
        if self._wanted and self._clock() >= self._next_s:
            self._next_s = self._clock() + _EVERY_S
            share = min(1.0, self._done / self._total)
            bar = "#" * round(_WIDTH * share)
            self._terminal.write(f"\r[{bar:<{_WIDTH}}] {100 * share:3.0f} %")
            self._terminal.flush()
            self._drawn = True

    def clear(self) -> None:
        """Wipe the line, so that something else may be printed."""
        if self._drawn:
            self._terminal.write("\r\x1b[K")
            self._terminal.flush()
            self._drawn = False
