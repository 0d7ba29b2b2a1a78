"""A finished note: what the string did, from pluck to silence."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Shape = Literal["level", "rise", "rise_fall", "fall", "not_a_bend"]
Ending = Literal["cut_sharp", "released", "rang_out", "cut"]
Refusal = Literal["slide", "hammer_on", "pull_off", "two_strings", "too_short", "no_pitch"]
"""Why a note cannot be judged as a bend."""


@dataclass(frozen=True, slots=True)
class Trace:
    """The pitch over the note: `time_s` (since the first sample), `hz` (> 0), `level_db`; equal lengths, read-only."""

    time_s: NDArray[np.float64]
    hz: NDArray[np.float64]
    level_db: NDArray[np.float64]

    def __post_init__(self) -> None:
        for array in (self.time_s, self.hz, self.level_db):
            array.flags.writeable = False


@dataclass(frozen=True, slots=True)
class Vibrato:
    """`rate_hz` cycles a second; `width_cents` half of peak to peak."""

    rate_hz: float
    width_cents: float


@dataclass(frozen=True, slots=True)
class Note:
    """What was heard of one note; hertz where it is pitch, None where that part never came.

    rest_hz : the fretted pitch as heard, before a bend or after a release; None if it never rested. A level note that
        was struck while the string was still bent has the rest of the note before it.
    first_hz : first stable pitch after the pluck.
    hold_hz : height at the hold (mean of whole vibrato cycles); equals rest_hz for any other level note.
    """

    onset_s: float
    end_s: float
    shape: Shape
    rest_hz: float | None
    first_hz: float | None
    hold_hz: float | None
    peak_hz: float | None
    final_hz: float | None
    rise_s: float
    hold_s: float
    ending: Ending
    vibrato: Vibrato | None
    refusal: Refusal | None
    trace: Trace = field(compare=False)
