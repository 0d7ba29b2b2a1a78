"""Takes -> files, in a part of the loop of its own: a slow or hanging disk never holds up the hearing."""

from __future__ import annotations

import queue
import threading
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pedal.takes.folder import TakesFolder

WAITING_TAKES = 8
_STOP_CHECK_S = 0.1

_Job = tuple[NDArray[np.float32], str, int]


class TakeWriting:
    """`add` hands a take over and returns; `work` writes until told to stop, and then what still waits.

    After a fault of ours `work` may be called again: the take that it failed over is dropped and counted.

    dropped : takes that came faster than the disk could take them, or could not be written over a fault of ours.
    remark : why the last one could not be written, "" if it was.
    """

    def __init__(self, folder: Path, *, most_bytes: int) -> None:
        self.dropped = 0
        self.remark = ""
        self._path, self._most_bytes = folder, most_bytes
        self._jobs: queue.Queue[_Job] = queue.Queue(WAITING_TAKES)
        self._folder: TakesFolder | None = None
        self._rate = 0

    def add(self, samples: NDArray[np.float32], words: str, *, sample_rate: int) -> None:
        """Hand over a take, mono samples; where there is no more room it is dropped and counted."""
        try:
            self._jobs.put_nowait((samples, words, sample_rate))
        except queue.Full:
            self.dropped += 1

    def work(self, stop: threading.Event) -> None:
        """Write takes as they come."""
        while True:
            try:
                samples, words, rate = self._jobs.get(timeout=_STOP_CHECK_S)
            except queue.Empty:
                if stop.is_set():
                    return
            else:
                self._write(samples, words, rate)

    def _write(self, samples: NDArray[np.float32], words: str, rate: int) -> None:
        if self._folder is None or self._rate != rate:
            self._folder, self._rate = TakesFolder(self._path, sample_rate=rate, most_bytes=self._most_bytes), rate
        try:
            self._folder.add(samples, words)
        except OSError as error:
            self.remark = f"A take cannot be kept: {error.strerror or error}."
        except Exception:
            self.dropped += 1
            raise
        else:
            self.remark = ""
