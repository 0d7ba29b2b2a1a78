"""The pedal as it runs: starts its parts in a written order, watches over them, and stops them in reverse."""

from __future__ import annotations

import gc
import queue
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal, Protocol

from pedal.errors import DeviceError
from pedal.live import real_time, service_manager
from pedal.live.capture import Capture, Gone
from pedal.live.counts import Counts
from pedal.live.display import PanelDisplay
from pedal.live.drone_player import DronePlayer
from pedal.live.engine import Engine
from pedal.live.log_writer import LogWriter
from pedal.live.messages import SwitchEdge
from pedal.live.printer import Printer
from pedal.live.remarks import OwnFaults
from pedal.live.worker import Worker
from pedal.ports import Switches
from pedal.takes import TakeWriting

Outcome = Literal["over", "stopped", "interrupted", "reload", "set_up"]
"""Why the loop ended: the take was over, SIGTERM, Ctrl-C, new settings are to be taken up, or the set-up was chosen."""

TICK_S = 0.1
LONGEST_TICK_S = 3 * TICK_S
STOP_S = 0.9
"""All parts together; the service manager is promised a second."""
OVER_S = 90.0
"""The same where nobody waits: of a performance that is over the film and the log are written to their end."""
STALL_S, GIVE_UP_S = 1.0, 10.0
"""Without a block: say so; and end, because a driver that hangs can only be got rid of with the process."""
_STALLED = "the audio input has stopped without a word: unplug it and plug it in again"
HEARING_BACK_OFF_S = 0.25
"""Less than what `Arrivals` hold: no sound is lost while the hearing begins again."""
EDGES = 64
_SWITCH_INTERVAL_S = 0.0005
"""A tenth of the default: drawing holds the interpreter's lock against hearing for half a millisecond at most."""


class Signalled(Protocol):
    """Where signals come from."""

    def wait(self, timeout_s: float) -> int | None:
        """The next signal's number, or None."""


@dataclass
class Parts:
    """Everything that runs. `panel_display`, `switches`, `drone_player` and `takes` may be None.

    priority : of real time, for the hearing; 0 asks for none.
    """

    capture: Capture
    engine: Engine
    log_writer: LogWriter
    printer: Printer
    edges: queue.Queue[SwitchEdge]
    panel_display: PanelDisplay | None
    switches: Switches | None
    drone_player: DronePlayer | None
    takes: TakeWriting | None
    priority: int = 0
    workers: list[Worker] = field(default_factory=list)


class Loop:
    """One run of the pedal. `run` returns why it ended, or raises what a part died of.

    A part that fails over a fault of ours is started again (`Worker`), and the others go on meanwhile.

    signals : says which signal has come, if one has.
    reload_wanted : called on SIGHUP; True if there are good new settings to take up.
    set_up_wanted : asked at every look; True once the player chose the set-up.
    remark : says a sentence to whoever looks at standard error.
    """

    def __init__(
        self,
        parts: Parts,
        *,
        signals: Signalled,
        reload_wanted: Callable[[], bool] = lambda: False,
        set_up_wanted: Callable[[], bool] = lambda: False,
        remark: Callable[[str], None] = lambda _: None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._parts, self._signals = parts, signals
        self._reload_wanted, self._remark, self._clock = reload_wanted, remark, clock
        self._set_up_wanted = set_up_wanted
        self._watchdog_s = service_manager.interval_s()
        self._fed_s = clock()
        self._judged = 0
        self._stalled = False
        self._said: set[str] = set()
        self._last_remark = self._status = self._state = self._before_stall = ""
        self._counted, self._tell_next = Counts(), 1
        self._looked_s = self._clock()
        self._sign_s, self._silent_s = float("nan"), 0.0
        self._faults = OwnFaults(remark, parts.log_writer.keep_trace)

    def run(self) -> Outcome:
        """Start, watch, stop. Raises the exception of a part that died."""
        interval = sys.getswitchinterval()
        sys.setswitchinterval(_SWITCH_INTERVAL_S)
        outcome: Outcome | None = None
        try:
            self._start()
            outcome = self._watch()
        finally:
            # The manager gives a service that says STOPPING a few seconds, then kills it.
            if outcome not in ("reload", "set_up"):
                service_manager.notify("STOPPING=1")
            self._stop(STOP_S if outcome != "over" else OVER_S)
            sys.setswitchinterval(interval)
            gc.unfreeze()
            gc.enable()
        self._raise_what_died(of=outcome)
        return outcome

    def _raise_what_died(self, *, of: Outcome) -> None:
        """What failed while it was stopped was not done; new settings are taken up all the same."""
        for worker in self._parts.workers:
            if worker.fault is not None and of not in ("reload", "set_up"):
                raise worker.fault

    def _start(self) -> None:
        """What takes in comes after what takes away, so that nothing is handed to a part that does not run yet."""
        parts = self._parts
        parts.workers = [
            Worker("keeping", parts.log_writer.work),
            Worker("telling", parts.printer.work),
            # A disk that hangs is left behind.
            *([Worker("takes", parts.takes.work, patient=False)] if parts.takes else []),
            *([Worker("drawing", parts.panel_display.work)] if parts.panel_display else []),
            *([Worker("sounding", parts.drone_player.work)] if parts.drone_player else []),
            Worker("hearing", parts.engine.work, priority=parts.priority, back_off_most_s=HEARING_BACK_OFF_S),
            # Not in real time: a driver that has lost its device may spin, and nothing would stop it. A take or a
            # performance would begin again from its start.
            Worker("capture", parts.capture.work, patient=False, restarts=parts.capture.live),
        ]
        if parts.switches is not None:
            self._open_switches(parts.switches)
        # A full collection takes milliseconds with all that is loaded now: none of it will ever be garbage.
        gc.collect()
        gc.freeze()
        gc.disable()
        for worker in parts.workers:
            worker.start()
        # At once: whatever is ordered after the pedal, the machine's own start among it, must not wait for a guitar.
        service_manager.ready()
        self._tell_status("looking for the audio input")

    def _open_switches(self, switches: Switches) -> None:
        def edge(time_s: float, switch: int, pressed: bool) -> None:
            try:
                self._parts.edges.put_nowait(SwitchEdge(time_s, switch, pressed))
                self._parts.capture.arrivals.ring()
            except queue.Full:  # a switch that chatters faster than anyone can press
                self._say_once("a switch chatters: its edges are dropped")

        try:
            switches.open(edge)
        except DeviceError as fault:
            self._say_once(f"{fault} (the pedal goes on without switches)")

    def _watch(self) -> Outcome:
        while True:
            came = self._signals.wait(TICK_S)
            if came == signal.SIGTERM:
                return "stopped"
            if came == signal.SIGINT:
                return "interrupted"
            if came == signal.SIGHUP and self._reload_wanted():
                return "reload"
            if self._set_up_wanted():
                return "set_up"
            for worker in self._parts.workers:
                ended = worker.ended  # before its fault is looked at: it ends after that is set
                if worker.fault is not None:
                    raise worker.fault
                if ended and worker.name == "hearing":
                    return "over"
            self._tell_of_faults()
            self._watch_capture()
            self._feed_watchdog()
            self._pass_remarks_on()

    def _watch_capture(self) -> None:
        """A driver may hang without an error: nobody else would notice. A take or a performance only waits for us."""
        capture = self._parts.capture
        if not capture.live:
            return
        silent_s = self._silence_s(capture)
        if silent_s < (GIVE_UP_S if capture.seeking or capture.opening else STALL_S):
            if self._stalled and self._state == _STALLED:  # it goes on by itself, and no stream is opened that says so
                self._tell_status(self._before_stall)
            self._stalled = False
            return
        if not self._stalled:
            self._stalled, self._before_stall = True, self._state
            self._say_once(_STALLED)
            self._tell_status(_STALLED)
            capture.arrivals.offer(Gone(_STALLED))
            capture.arrivals.ring()
        if silent_s > GIVE_UP_S:
            raise DeviceError(
                f"the audio input has not answered for {GIVE_UP_S:.0f} s and its driver does not let go: start again"
            )

    def _silence_s(self, capture: Capture) -> float:
        """Seconds without a sign of the capture, as far as this loop has lived through them.

        A process that was frozen has heard nothing meanwhile, and nothing is wrong with its driver.
        """
        now_s = self._clock()
        sign_s = capture.last_try_s if capture.seeking or capture.opening else capture.last_block_s
        lived_s = min(now_s - self._looked_s, LONGEST_TICK_S)
        self._silent_s = self._silent_s + lived_s if sign_s == self._sign_s else 0.0
        self._looked_s, self._sign_s = now_s, sign_s
        return self._silent_s

    def _feed_watchdog(self) -> None:
        """A sign of life only while sound is judged, or while the loop knows that there is none and looks for it."""
        judged, now_s = self._parts.engine.judged_blocks, self._clock()
        alive = judged != self._judged or self._parts.capture.seeking
        if self._watchdog_s is not None and alive and now_s - self._fed_s >= self._watchdog_s / 2:
            service_manager.alive()
            self._fed_s, self._judged = now_s, judged

    def _tell_of_faults(self) -> None:
        """One mark on the panel; and each fault once, in a sentence, with its trace where it can be sent in from."""
        for worker in self._parts.workers:
            while not worker.faults.empty():
                fault = worker.faults.get_nowait()
                self._parts.engine.failed(worker.name)
                self._faults.tell(worker.name, fault, then="is started again")

    def _pass_remarks_on(self) -> None:
        parts = self._parts
        if parts.priority and parts.engine.judged_blocks:
            self._say_once(real_time.told(granted=all(w.in_real_time is not False for w in parts.workers)))
        while parts.engine.remarks:
            sentence = parts.engine.remarks.pop(0)
            if sentence == _STALLED:  # said when it was seen
                continue
            self._tell_status(sentence)
            if sentence != self._last_remark:  # a night without an interface must not fill the journal's card
                self._remark(sentence)
            self._last_remark = sentence
        self._tell_losses()
        for sentence in parts.log_writer.remarks:
            self._say_once(sentence)
        while parts.log_writer.notices:
            parts.engine.notice("LOG", parts.log_writer.notices.pop(0))
        if parts.takes is not None and parts.takes.remark:
            self._say_once(parts.takes.remark)
        if parts.panel_display is not None and parts.panel_display.fault:
            self._say_once(f"{parts.panel_display.fault} (the pedal goes on and tries the screen again)")
        if parts.panel_display is not None and parts.panel_display.lamp_fault:
            self._say_once(f"{parts.panel_display.lamp_fault} (the pedal goes on without the lamp)")
        if parts.drone_player is not None and parts.drone_player.fault:
            self._say_once(f"{parts.drone_player.fault} (the pedal goes on without the drone)")

    def _counts(self) -> Counts:
        parts = self._parts
        engine = parts.engine
        return Counts(
            gaps=engine.gaps,
            lost_s=engine.lost_s,
            overflows=engine.overflows,
            dropped_blocks=parts.capture.dropped_blocks,
            dropped_lines=parts.printer.dropped,
            dropped_entries=parts.log_writer.dropped,
            dropped_takes=parts.takes.dropped if parts.takes is not None else 0,
        )

    def _tell_losses(self) -> None:
        """In the status at once; in the journal the first, and then each time that there are ten times as many."""
        counts = self._counts()
        if counts == self._counted:
            return
        self._counted = counts
        self._tell_status(self._state)
        if counts.total >= self._tell_next:
            self._tell_next = 10 ** len(str(counts.total))
            self._remark(counts.sentence())

    def _tell_status(self, sentence: str) -> None:
        """The one line of `systemctl status`: what is going on, and what was lost."""
        self._state = sentence
        lost = f" ({self._counted.sentence()})" if self._counted.total else ""
        if sentence + lost != self._status:
            self._status = sentence + lost
            service_manager.notify(f"STATUS={self._status}")

    def _say_once(self, sentence: str) -> None:
        if sentence not in self._said:
            self._said.add(sentence)
            self._remark(sentence)

    def _stop(self, within_s: float) -> None:
        """In reverse, each part after what feeds it, within one deadline; what hangs in a driver is left behind."""
        parts, until_s = self._parts, self._clock() + within_s
        if parts.switches is not None:
            parts.switches.close()
        for worker in reversed(parts.workers):
            if not worker.stop(max(0.05, min(within_s * 2 / 3, until_s - self._clock()))):
                self._remark(f"the part for {worker.name} did not stop in time")
            self._tell_of_faults()  # before the keeping, which is the last, has stopped
        tells_all = parts.capture.live and parts.engine.judged_blocks > 0
        if tells_all:
            self._tell_next = sys.maxsize  # what was lost in stopping is told with the rest
        self._pass_remarks_on()
        if tells_all:
            self._remark(f"at the end: {self._counts().sentence()}")
