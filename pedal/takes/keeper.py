"""Samples and verdicts -> takes in a folder; the hearing thread only copies, a thread of its own writes.

That thread is a daemon: `close` waits for it, but not for a disk that hangs.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pedal.chain import hop_samples
from pedal.takes.folder import TakesFolder
from pedal.takes.ring import SoundRing
from pedal.verdicts.verdict import Verdict

BEFORE_S, AFTER_S = 0.5, 0.3
"""Silence before the pluck, and the string's last breath after the note: `undertoe read` needs both."""
LONGEST_S = 30.0
_WAITING_TAKES = 8
_CLOSE_S = 5.0

_Job = tuple[NDArray[np.float32], str] | None


class TakeKeeper:
    """`.push(samples)` and `.verdict(verdict)` from the hearing thread never wait; `.close()` writes the rest.

    Its times are the chain's: seconds since the first sample of the stream. A new stream takes a new keeper.

    dropped : takes that came faster than the disk could take them.
    remark : why the last one could not be written, "" if it was.
    """

    def __init__(self, folder: Path, *, sample_rate: int, most_bytes: int) -> None:
        self.dropped = 0
        self.remark = ""
        self._rate, self._hop = sample_rate, hop_samples(sample_rate)
        self._ring = SoundRing(round((LONGEST_S + BEFORE_S + AFTER_S) * sample_rate))
        self._due: list[tuple[int, int, str]] = []
        self._folder = TakesFolder(folder, sample_rate=sample_rate, most_bytes=most_bytes)
        self._jobs: queue.Queue[_Job] = queue.Queue(_WAITING_TAKES)
        self._writer = threading.Thread(target=self._write, name="takes", daemon=True)
        self._writer.start()

    def push(self, samples: NDArray[np.float32], *, lost_samples: int = 0) -> None:
        """Remember a block, and hand over every take whose end has been heard."""
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
        """Write what is still due, as far as it was heard; safe to call twice."""
        for due in self._due:
            self._hand_over(*due)
        self._due = []
        if self._writer.is_alive():
            with contextlib.suppress(queue.Full):  # a disk that hangs: its thread is left behind
                self._jobs.put(None, timeout=_CLOSE_S)
            self._writer.join(_CLOSE_S)

    def _hand_over(self, first: int, last: int, words: str) -> None:
        try:
            self._jobs.put_nowait((self._ring.cut(first, last), words))
        except queue.Full:
            self.dropped += 1

    def _write(self) -> None:
        while (job := self._jobs.get()) is not None:
            try:
                self._folder.add(*job)
            except OSError as error:
                self.remark = f"A take cannot be kept: {error.strerror or error}."
            else:
                self.remark = ""
