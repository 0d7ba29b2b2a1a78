"""Log entries and the memory -> disk, in a thread of its own: a slow or full disk never holds up the hearing."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable

from pedal.app.errors import StoreError
from pedal.app.ports import Store
from pedal.app.remembered import Remembered
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import Memory

QUEUE_ENTRIES = 1024
"""Half an hour of busy playing at a note every two seconds."""
RETRY_S = 5.0
_BATCH_S = 0.5
_STOP_CHECK_S = 0.1


class DiskKeeping:
    """`keep` and `remember` hand over and return; `work` writes. While the disk refuses, entries wait, up to a bound.

    open_store : opens the log; None keeps no log. It is called again after a failure.
    """

    def __init__(
        self,
        open_store: Callable[[], Store] | None,
        remembered: Remembered | None,
        *,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.paused = False
        self.dropped = 0
        self.remarks: list[str] = []
        self._open_store, self._remembered, self._clock = open_store, remembered, clock
        self._entries: queue.Queue[LogEntry] = queue.Queue(QUEUE_ENTRIES)
        self._memory: queue.Queue[Memory] = queue.Queue(1)
        self._store: Store | None = None
        self._waiting: list[LogEntry] = []
        self._retry_s = 0.0

    def keep(self, entries: tuple[LogEntry, ...]) -> None:
        """Hand entries over; where there is no more room they are dropped and counted, and the log says paused."""
        if self._open_store is None:
            return
        for entry in entries:
            try:
                self._entries.put_nowait(entry)
            except queue.Full:
                self.dropped += 1
                self.paused = True

    def remember(self, memory: Memory) -> None:
        """Hand the memory over; a newer one takes the place of one not yet written."""
        while True:
            try:
                self._memory.put_nowait(memory)
            except queue.Full:
                try:
                    self._memory.get_nowait()
                except queue.Empty:
                    continue
            else:
                return

    def work(self, stop: threading.Event) -> None:
        """Write in batches until told to stop; then write the rest."""
        while not stop.wait(_BATCH_S):
            self._write()
        self._retry_s = 0.0
        self._write()
        if self._store is not None:
            self._store.close()

    def _write(self) -> None:
        self._write_memory()
        if self._clock() < self._retry_s:
            return
        while len(self._waiting) < QUEUE_ENTRIES:
            try:
                self._waiting.append(self._entries.get_nowait())
            except queue.Empty:
                break
        if not self._waiting or self._open_store is None:
            return
        try:
            if self._store is None:
                self._store = self._open_store()
                self._pass_on(self._store)
            self._store.append(self._waiting)
            self._pass_on(self._store)
        except StoreError as fault:
            self.paused = True
            self._remark(str(fault))
            self._retry_s = self._clock() + RETRY_S
        else:
            self._waiting = []
            self.paused = False

    def _write_memory(self) -> None:
        try:
            memory = self._memory.get_nowait()
        except queue.Empty:
            return
        if self._remembered is None:
            return
        try:
            self._remembered.save(memory)
        except OSError as fault:
            self._remark(f"what the pedal was doing cannot be remembered: {fault}")

    def _pass_on(self, store: Store) -> None:
        """What was unusual about the log: a player who looks for last week's bends shall know where they lie."""
        if store.remark:
            self._remark(store.remark)

    def _remark(self, sentence: str) -> None:
        if sentence not in self.remarks:
            self.remarks.append(sentence)
