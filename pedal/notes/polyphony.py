"""The sound of one note -> whether a second string sounded with it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pedal.notes.bins import PICK_S
from pedal.notes.strikes import one_note
from pedal.pitch.intake import HISTORY_S
from pedal.pitch.reading import Reading
from pedal.pitch.second_string import SecondString, hear_second_string

PLUCK_S = 5 * PICK_S
"""The pick's own noise is over by then."""
CLEAR_SHARE = 0.20
"""So much beside the string that explains most is a second one, whatever the tracker says."""
DOUBTFUL_SHARE = 0.07
"""So much is a second string if the tracker does not clearly hear the one that explains most."""
CONFIDENT = 0.7
CERTAIN = 0.95
"""A wave that repeats so well at the root or near it, or has all partials of its pitch, is one string: wide vibrato and
fast bends smear them in 0.2 s."""
FULL = 0.75
"""Share of its partials that a string has at the least; a fifth's common subharmonic has two thirds of them."""
EARLY_LOOKS = 3
"""What was struck together is heard together from the start; what other strings ring along comes out as it fades."""


class Thinned(Protocol):
    """The newest of the sound at a lower rate, as `pedal.pitch` keeps it."""

    rate_hz: float

    def newest(self, count: int) -> NDArray[np.float32]:
        """The last `count` samples."""


class Polyphony:
    """Looks at the newest 0.2 s of a note, ten times a second or three times while there is nothing to find."""

    def __init__(self, thinned: Thinned) -> None:
        self._thinned = thinned
        self._count = round(HISTORY_S * thinned.rate_hz)
        self._looks: list[bool] = []
        self._led: list[bool] = []
        self._plain = 0
        self._next_s = self._first_s = self._plucked_until_s = 0.0
        self._surest: Reading | None = None
        self._whole_from_s: float | None = None

    def begin(self, onset_s: float) -> None:
        """A note began."""
        self._looks, self._led = [], []
        self._plain = 0
        self._plucked_until_s, self._surest = onset_s + PLUCK_S, None
        self._next_s = self._first_s = self._plucked_until_s + HISTORY_S

    def end(self) -> None:
        """It is over: nothing is due before the next one begins."""
        self._next_s = math.inf

    def listen(self, reading: Reading, *, sounding: Callable[[], bool], struck_s: float | None) -> None:
        """One reading more; the sound up to it is looked at only while a note is sounding, asked where a look is due.

        `struck_s`: a strike of then waits for its pitch, and may be the next note, so looks wait as well. Only a note
        that is just long enough for one has it at once; the pick's own noise is in that reading, so the surest counts.
        """
        if self._whole_from_s is None:
            self._whole_from_s = reading.heard_s
        due_s, seen = self._next_s, reading
        if struck_s is not None:
            due_s = struck_s if due_s == self._first_s <= struck_s + PLUCK_S else math.inf
            seen = reading if self._surest is None else self._surest
        elif reading.hz > 0.0 and reading.heard_s > self._plucked_until_s:
            self._surest = max(self._surest or reading, reading, key=lambda heard: heard.confidence)
        if reading.heard_s >= due_s and reading.heard_s - self._whole_from_s >= HISTORY_S and sounding():
            self._look(seen, hear_second_string(self._thinned.newest(self._count), self._thinned.rate_hz, seen.hz))
            # Two looks share half of what they see; nothing while the last found one string, heard where it is.
            later = 1.5 if self._plain >= EARLY_LOOKS else 0.5
            self._next_s = reading.heard_s + later * HISTORY_S

    def forget(self) -> None:
        """Samples were lost: what was heard so far no longer joins on."""
        self._whole_from_s = None

    @property
    def found(self) -> bool:
        """Whether a second string sounded with this note."""
        early = self._looks[:EARLY_LOOKS]
        from_the_start = 2 * sum(early) > len(early)
        return from_the_start and (early[0] or 2 * sum(self._looks) > len(self._looks))

    @property
    def led(self) -> bool:
        """Whether the string whose pitch is heard is the one that explains most: no common subharmonic of two."""
        return 2 * sum(self._led) > len(self._led)

    def _look(self, reading: Reading, second: SecondString) -> None:
        if second.root_hz == 0.0:
            return
        same = one_note(reading.hz, second.root_hz)
        if reading.confidence >= CERTAIN and (same or second.filled >= FULL):
            self._looks.append(False)
            self._plain += 1
            return
        self._plain = 0
        heard = same and reading.confidence >= CONFIDENT
        polyphonic = second.share >= (CLEAR_SHARE if heard else DOUBTFUL_SHARE)
        self._looks.append(polyphonic)
        self._led.append(heard or second.filled >= FULL)
