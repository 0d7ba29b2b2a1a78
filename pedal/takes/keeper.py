"""Samples and verdicts -> takes, cut from the last seconds of sound; the hearing thread only copies."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.chain import hop_samples
from pedal.takes.writing import TakeWriting
from pedal.verdicts.verdict import Verdict


class SoundRing:
    """`.push(samples)` remembers, `.cut(first, last)` gives back what is still remembered; positions count samples.

    Lost samples count as silence, so that a position means the same here and in the chain.
    """

    def __init__(self, capacity: int) -> None:
        self._kept = np.zeros(capacity, np.float32)
        self.heard = 0
        """Samples pushed or lost so far: the position of the next one."""

    def push(self, samples: NDArray[np.float32], *, lost_samples: int = 0) -> None:
        """Remember float32 samples; `lost_samples` went missing just before them."""
        if lost_samples:
            self._write(np.zeros(min(lost_samples, len(self._kept)), np.float32), skip=lost_samples)
        self._write(samples, skip=len(samples))

    def cut(self, first: int, last: int) -> NDArray[np.float32]:
        """A copy of the samples from `first` up to `last`, shorter where they are forgotten or still to come."""
        first = max(first, self.heard - len(self._kept), 0)
        last = min(last, self.heard)
        return self._kept[np.arange(first, max(first, last)) % len(self._kept)]

    def _write(self, samples: NDArray[np.float32], *, skip: int) -> None:
        """The newest of the samples at their places, position moved on by `skip`."""
        samples = samples[-len(self._kept) :]
        begin = (self.heard + skip - len(samples)) % len(self._kept)
        before_end = min(len(samples), len(self._kept) - begin)
        self._kept[begin : begin + before_end] = samples[:before_end]
        self._kept[: len(samples) - before_end] = samples[before_end:]
        self.heard += skip


BEFORE_S, AFTER_S = 0.5, 0.3
"""Silence before the pluck, and the string's last breath after the note: `undertoe read` needs both."""
LONGEST_S = 30.0


class TakeKeeper:
    """`.push(samples)` and `.verdict(verdict)` from the hearing thread never wait; `.close()` hands over the rest.

    Its times are the chain's: seconds since the first sample of the stream. A new stream takes a new keeper.
    """

    def __init__(self, writing: TakeWriting, *, sample_rate: int) -> None:
        self._writing = writing
        self._rate, self._hop = sample_rate, hop_samples(sample_rate)
        self._ring = SoundRing(round((LONGEST_S + BEFORE_S + AFTER_S) * sample_rate))
        self._due: list[tuple[int, int, str]] = []

    def push(self, samples: NDArray[np.float32], *, lost_samples: int = 0) -> None:
        """Remember a block of mono samples, and hand over every take whose end has been heard."""
        self._ring.push(samples, lost_samples=lost_samples)
        while self._due and self._due[0][1] <= self._ring.heard:
            self._hand_over(*self._due.pop(0))

    def verdict(self, verdict: Verdict) -> None:
        """Keep the sound around a judged note, once it is all there."""
        first = round((verdict.onset_s - BEFORE_S) * self._rate)
        last = round((verdict.end_s + AFTER_S) * self._rate)
        note = verdict.rest_note or verdict.target_note or ""
        first = max(first, last - round(LONGEST_S * self._rate), 0)
        self._due.append((first - first % self._hop, last, f"{note}-{verdict.verdict}".lstrip("-")))

    def close(self) -> None:
        """Hand over what is still due, as far as it was heard; safe to call twice."""
        for due in self._due:
            self._hand_over(*due)
        self._due = []

    def _hand_over(self, first: int, last: int, words: str) -> None:
        self._writing.add(self._ring.cut(first, last), words, sample_rate=self._rate)
