"""A thread of the loop: told to stop by an event, and never dead without its reason being known."""

from __future__ import annotations

import threading
from collections.abc import Callable

from pedal.app import real_time

Work = Callable[[threading.Event], None]
"""What a worker does until its event is set."""


class Worker:
    """Runs `work(stop)` in a thread. `ended` is true once it returned or failed; `fault` is what it failed with.

    patient : False for work that may wait in a driver for ever: it is left behind rather than waited for.
    priority : ask for real time at this priority; `in_real_time` then says whether it was granted, None until asked.
    """

    def __init__(self, name: str, work: Work, *, patient: bool = True, priority: int = 0) -> None:
        self.name = name
        self.in_real_time: bool | None = None
        self._priority = priority
        self.fault: Exception | None = None
        self._work, self._patient = work, patient
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=not patient)

    @property
    def ended(self) -> bool:
        """Whether it was started and is over."""
        return self._thread.ident is not None and not self._thread.is_alive()

    def start(self) -> None:
        """Begin."""
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
        try:
            self._work(self._stop)
        except Exception as fault:  # noqa: BLE001 - whatever it is, the loop ends with it
            self.fault = fault
