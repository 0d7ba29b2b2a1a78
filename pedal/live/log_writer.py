"""Log entries and the memory -> disk, in a thread of its own: a slow or full disk never holds up the hearing."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from pedal.errors import StoreError, UndertoeError
from pedal.live.lick_folder import LickFolder
from pedal.live.memory_file import MemoryFile
from pedal.live.remarks import FaultFile
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.log_entry import LogEntry
from pedal.modes.memory import Memory
from pedal.ports import Store

MOST_ENTRIES = 2048
"""An hour of busy playing at a note every two seconds."""
MOST_CURVE_BYTES = 8_000_000
"""Pitch curves that wait for the disk, about 450 notes of two seconds; verdicts without their curves wait on."""
OPEN_AFTER_S = 2.0
"""The log is opened then at the latest, so that its troubles show before the first song, and not in it."""
MOST_TRACES = 20
MOST_LICKS = 20
SET_ASIDE = "The old log was damaged and is set aside. A new one was begun."
RETRY_S = 5.0
_BATCH_S = 0.5
_STOP_CHECK_S = 0.1


class LogWriter:
    """`keep` and `remember` hand over and return; `work` writes. While the disk refuses, entries wait, up to a bound.

    After a fault of ours `work` may be called again: then each entry is tried by itself, and the one that cannot be
    written is dropped and counted. `remarks` are for whoever reads the journal, `notices` for the player's panel.

    open_store : opens the log; None keeps no log. It is called again after a failure.
    remembered : where the player's place goes; None keeps none.
    fault_file : where traces of faults go; None keeps none.
    licks : where licks go; None keeps none.
    """

    def __init__(
        self,
        open_store: Callable[[], Store] | None,
        remembered: MemoryFile | None,
        *,
        fault_file: FaultFile | None = None,
        licks: LickFolder | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.paused = False
        self.dropped = 0
        self.remarks: list[str] = []
        self.notices: list[str] = []
        self._open_store, self._remembered, self._clock = open_store, remembered, clock
        self._fault_file, self._lick_folder = fault_file, licks
        self._licks: queue.Queue[KeptLick] = queue.Queue(MOST_LICKS)
        self._traces: queue.Queue[str] = queue.Queue(MOST_TRACES)
        self._entries: queue.Queue[LogEntry] = queue.Queue(MOST_ENTRIES)
        self._memory: queue.Queue[Memory] = queue.Queue(1)
        self._store: Store | None = None
        self._waiting: list[LogEntry] = []
        self._careful = False
        self._curve_bytes = 0
        self._retry_s = 0.0
        self._open_by_s = clock() + OPEN_AFTER_S

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

    def keep_licks(self, licks: tuple[KeptLick, ...]) -> None:
        """Hand licks over; one for which there is no room is told as lost."""
        for lick in licks:
            try:
                self._licks.put_nowait(lick)
            except queue.Full:
                self._remark("a lick could not be kept: the disk is too slow")

    def keep_trace(self, trace: str) -> Path | None:
        """Hand the trace of a fault over; the file it goes to, None if it is kept nowhere."""
        if self._fault_file is None:
            return None
        try:
            self._traces.put_nowait(trace)
        except queue.Full:
            return None
        return self._fault_file.path

    def work(self, stop: threading.Event) -> None:
        """Write in batches until told to stop; then write the rest."""
        while not stop.wait(_BATCH_S):
            self._write()
        self._retry_s = 0.0
        self._write()
        self.dropped += len(self._waiting)  # nobody will write them any more
        if self._store is not None:
            self._store.close()

    def _write(self) -> None:
        self._write_traces()
        self._write_licks()
        self._write_memory()
        self._take_in()
        if self._open_store is None or not self._due():
            return
        try:
            if self._store is None:
                self._store = self._open_store()
                self._pass_on(self._store)
            self._append(self._store)
        except StoreError as fault:
            self.paused = True
            self._remark(str(fault))
            self._retry_s = self._open_by_s = self._clock() + RETRY_S
        else:
            self._waiting, self._curve_bytes = [], 0
            self.paused = False

    def _append(self, store: Store) -> None:
        """All that wait in one batch, or, after a fault of ours, one by one; raises with the rest still waiting."""
        while self._waiting:
            batch = self._waiting[:1] if self._careful else self._waiting
            rest = self._waiting[len(batch) :]
            try:
                store.append(batch)
            except StoreError:
                raise
            except Exception:
                if self._careful:  # it cannot be written, and would hold up all that come after it
                    self._waiting, self.dropped = rest, self.dropped + 1
                self._careful = True
                raise
            self._waiting = rest
            self._pass_on(store)
        self._careful = False

    def _due(self) -> bool:
        """Whether entries wait and may be tried, or the log is not open yet and it is time to look at it."""
        if self._waiting:
            return self._clock() >= self._retry_s
        return self._store is None and self._clock() >= self._open_by_s

    def _take_in(self) -> None:
        """What was handed over waits here; of what is too much the curves go first, then the newest entries."""
        while not self._entries.empty():
            entry = self._entries.get_nowait()
            if len(self._waiting) == MOST_ENTRIES:
                self.dropped += 1
                continue
            size = _curve_bytes(entry)
            if self._curve_bytes + size > MOST_CURVE_BYTES:
                entry, size = _without_curve(entry), 0
            self._curve_bytes += size
            self._waiting.append(entry)

    def _write_traces(self) -> None:
        while self._fault_file is not None and not self._traces.empty():
            try:
                self._fault_file.add(self._traces.get_nowait())
            except OSError as fault:
                self._remark(f"the trace of a fault cannot be kept: {fault}")

    def _write_licks(self) -> None:
        """Before the memory, which names the one chosen."""
        while not self._licks.empty():
            lick = self._licks.get_nowait()
            if self._lick_folder is None:
                continue
            try:
                self._lick_folder.keep(lick)
            except (UndertoeError, OSError) as fault:
                self._remark(f"a lick cannot be kept: {fault}")
                self.notices.append("The lick cannot be kept: the disk refuses it.")

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
        if store.remark and self._remark(store.remark):
            self.notices.append(SET_ASIDE)

    def _remark(self, sentence: str) -> bool:
        """Whether it is news."""
        if sentence in self.remarks:
            return False
        self.remarks.append(sentence)
        return True


def _curve_bytes(entry: LogEntry) -> int:
    trace = entry.verdict.trace if entry.verdict is not None else None
    return 0 if trace is None else trace.time_s.nbytes + trace.hz.nbytes + trace.level_db.nbytes


def _without_curve(entry: LogEntry) -> LogEntry:
    return entry if entry.verdict is None else replace(entry, verdict=replace(entry.verdict, trace=None))
