"""A thread of the loop: told to stop by an event, started again where it fails; and the mailbox from one to another."""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Generic, TypeVar

from pedal.errors import UndertoeError
from pedal.live import real_time

T = TypeVar("T")


class Mailbox(Generic[T]):
    """Hands the newest thing from one thread to another; posting does not wait.

    patience_s : wait this long for the thing before to be taken, for a film of what runs faster than time.
    """

    def __init__(self, *, patience_s: float = 0.0) -> None:
        self._something = threading.Condition()
        self._newest: T | None = None
        self._patience_s = patience_s

    def post(self, thing: T) -> None:
        """Put a thing in, over whatever lies there."""
        with self._something:
            if self._patience_s:
                self._something.wait_for(lambda: self._newest is None, self._patience_s)
            self._newest = thing
            self._something.notify_all()

    def take(self, timeout_s: float) -> T | None:
        """The newest thing, waiting for one for at most `timeout_s`; None if none came."""
        with self._something:
            if self._newest is None:
                self._something.wait(timeout_s)
            newest, self._newest = self._newest, None
            if self._patience_s:
                self._something.notify_all()
            return newest


Work = Callable[[threading.Event], None]
"""What a worker does until its event is set. Called again after a fault, it goes on where it was."""

MOST_FAULTS, WITHIN_S = 10, 60.0
"""A part that fails so often within a minute is past mending from inside: the program ends, and is started anew."""
BACK_OFF_LEAST_S, BACK_OFF_MOST_S = 0.1, 2.0
"""Before it is started again, doubled with each fault of the last minute."""


class Worker:
    """Runs `work(stop)` in a thread. `ended` is true once it returned or failed for good; `fault` is what it died of.

    A fault of ours costs a restart; a sentence for the player (`UndertoeError`) and a reader who left end it at once.
    While it is being stopped it is tried again at once, so that what it holds is kept, and `fault` stays all the same.

    patient : False for work that may wait in a driver for ever: it is left behind rather than waited for.
    priority : ask for real time at this priority; `in_real_time` then says whether it was granted, None until asked.
    restarts : False for work that cannot go on where it failed.
    back_off_most_s : the longest wait before a restart.
    """

    def __init__(
        self,
        name: str,
        work: Work,
        *,
        patient: bool = True,
        priority: int = 0,
        restarts: bool = True,
        back_off_most_s: float = BACK_OFF_MOST_S,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.name = name
        self.in_real_time: bool | None = None
        self.fault: Exception | None = None
        self.faults: queue.SimpleQueue[Exception] = queue.SimpleQueue()
        """All that it failed with, for whoever tells of them."""
        self._priority, self._restarts, self._back_off_most_s = priority, restarts, back_off_most_s
        self._work, self._clock = work, clock
        self._failed_s: deque[float] = deque(maxlen=MOST_FAULTS)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=not patient)

    @property
    def ended(self) -> bool:
        """Whether it was started and is over."""
        return self._thread.ident is not None and not self._thread.is_alive()

    def start(self) -> None:
        """Begin the work in its own thread; once."""
        self._thread.start()

    def stop(self, timeout_s: float) -> bool:
        """Ask it to stop and wait; False if it did not within the time."""
        self._stop.set()
        if self._thread.ident is not None:
            self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def _run(self) -> None:
        if self._priority:
            self.in_real_time = real_time.ask(self._priority)
        while True:
            try:
                self._work(self._stop)
            except (UndertoeError, BrokenPipeError) as fault:
                self.fault = fault
                return
            except Exception as fault:  # noqa: BLE001 - whatever it is, the other parts go on
                if self._is_final(fault):
                    self.fault = fault
                    return
            else:
                return

    def _is_final(self, fault: Exception) -> bool:
        """Whether this is the end of it; else it has waited as long as it should before it begins again."""
        now_s = self._clock()
        self.faults.put(fault)
        self._failed_s.append(now_s)
        recent = sum(now_s - failed_s < WITHIN_S for failed_s in self._failed_s)
        if not self._restarts or recent >= MOST_FAULTS:
            return True
        if self._stop.is_set():
            self.fault = fault
        self._stop.wait(min(self._back_off_most_s, BACK_OFF_LEAST_S * 2 ** (recent - 1)))
        return False
