"""The trusted readings of one pluck, and its ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.notes.decoder import BIN_S, Floats
from pedal.values import frozen


@frozen
class Heard:
    """The trusted readings of a pluck: equal lengths, `cents` above `base_hz`; bin n begins at `zero_s + n BIN_S`."""

    base_hz: float
    zero_s: float
    time_s: Floats
    heard_s: Floats
    cents: Floats

    def hz(self, cents: float) -> float:
        """A height above `base_hz` as a frequency."""
        return float(self.base_hz * 2.0 ** (cents / 1200.0))

    def at(self, bin_number: float) -> float:
        """Seconds since the first sample of a bin's beginning."""
        return self.zero_s + bin_number * BIN_S

    def between(self, begin: int, end: int) -> NDArray[np.bool_]:
        """The readings of bins `begin` to `end` (open)."""
        return np.asarray((self.time_s >= self.at(begin)) & (self.time_s < self.at(end)))


@frozen
class Ends:
    """How the pluck as a whole began and ended."""

    onset_s: float
    end_s: float
    by_hand: bool
