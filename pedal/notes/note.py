"""A finished note: what the string did, from pluck to silence."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pedal.values import frozen

Shape = Literal["level", "rise", "rise_fall", "fall", "not_a_bend"]
Ending = Literal["cut_sharp", "released", "rang_out", "cut"]
BegunBy = Literal["pluck", "hammer_on", "pull_off", "slide"]
Side = Literal["both", "above", "below"]
Refusal = Literal["slide", "hammer_on", "two_strings", "too_short", "no_pitch"]
"""Why a note cannot be judged as a bend. A hammer-on is refused where several follow each other: a trill."""


@frozen
class Trace:
    """The pitch over the note: `time_s` (since the first sample), `hz` (> 0), `level_db`; equal lengths, read-only."""

    time_s: NDArray[np.float64]
    hz: NDArray[np.float64]
    level_db: NDArray[np.float64]

    def __post_init__(self) -> None:
        for array in (self.time_s, self.hz, self.level_db):
            array.flags.writeable = False


@frozen
class Vibrato:
    """`rate_hz` cycles a second; `width_cents` half of peak to peak; `side` of where the note stood that it swings to.

    evenness : 1 for cycles of one length and size, less by the share by which they differ.
    """

    rate_hz: float
    width_cents: float
    side: Side = "both"
    evenness: float = 1.0


@frozen
class Mend:
    """The first pitch was corrected: to `hz`, which was reached `after_s` seconds after the pluck."""

    hz: float
    after_s: float


@frozen
class Note:
    """What was heard of one tone of one pluck; hertz where it is pitch, None where that part never came.

    rest_hz : the fretted pitch as heard, before a bend or after a release; None if it was not heard to rest. A level
        note that was struck while the string was still bent has the rest of the note before it.
    rest_sigma_cents : how well `rest_hz` is known (1 sigma); a rest of some hundredths of a second hardly is.
    from_hz : for a rise whose rest was not heard, where it was first heard.
    first_hz : first stable pitch after the pluck; for a rise without a rest the first pitch at all.
    hold_hz : height at the hold (the middle or top of vibrato); equals rest_hz for any other level note.
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
    begun_by: BegunBy = "pluck"
    rest_sigma_cents: float = 0.0
    from_hz: float | None = None
    raised_s: float | None = None
    """How long after the pluck the pitch left where it began, if it rose; None where it did not."""
    mend: Mend | None = None
    accompanied: bool = False
    """Whether another string sounded with a level note; a note that moved is then refused."""
